// Package array reads recordings that are nothing but numbers: arrays in the
// NumPy format, variables of MATLAB files of level 5, and tables of text with a
// column a site. Nothing in them says the rate, the unit, or which axis is
// which: whoever reads them says it, in a [Description].
//
// Values may be floating point or whole numbers, of any order of bytes. What is
// no number (text, cells, structures, sparse and complex matrices) is refused,
// and so is a value that is NaN or infinite, when it is read.
//
// # Axes
//
// A recording has two axes, sites and samples, and cut epochs a third. Which
// one is that of the sites is told by the number of names; where that leaves
// a choice, the order has to be given. Cut epochs are taken for epoch × site ×
// sample in a NumPy file and for site × sample × epoch in a MATLAB file, whose
// numbers lie in the file in just the opposite order (common practice, no
// source).
//
// # MATLAB files of level 5
//
// The layout is written down from memory of the published description (MAT-File
// Format, of level 5): a header of 128 bytes that ends with the version and
// the order of bytes, then elements, each of a type, a length and data that
// fill whole units of eight bytes; a short element of up to four bytes has its
// length in the upper half of the type. A matrix is an element that holds
// elements: flags with the class, sizes of the axes, name, and the numbers,
// which may be of a shorter type than the class. A compressed element is a zlib
// stream that holds one matrix. It was checked against files that scipy writes.
// Files of version 7.3 are HDF5 and not read.
//
// # Bounds
//
// No size that a file states is believed before the bytes are there. A
// compressed variable is unpacked as a whole, into no more than [mostFold]
// times the bytes that it takes in the file; all others are read where they
// lie.
package array
