// Package fields holds fields between the electrodes, as the flags ask for
// them. Splines are package topo's, and what is drawn or printed of a field is
// the verb's.
package fields
