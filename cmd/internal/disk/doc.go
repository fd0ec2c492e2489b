// Package disk is the one door between the program and the file system: inputs
// that are regular files of a bounded size, and outputs that appear whole or
// not at all.
package disk
