// Package matrix makes tables of numbers, rows × columns. It computes nothing
// with them.
package matrix
