// Package epochs reads and writes epochs as arrays in the NumPy format: epochs
// that were cleaned elsewhere, or are to be looked at there.
//
// An array has three axes, epoch × site × sample, in C order: all samples of
// the first site of the first epoch come first. Values are 32-bit or 64-bit
// floating point numbers, little endian, in µV. The file says nothing of names,
// rate and times: whoever reads it must know them.
//
// The layout of the header is that of NumPy's format description (NEP 1, "A
// simple file format for NumPy arrays", 2007), versions 1.0 and 2.0.
//
// Epochs pass one by one: the memory used does not grow with their number.
package epochs
