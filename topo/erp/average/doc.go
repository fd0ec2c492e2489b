// Package average holds averages: what is known of them, their tables, and how
// they are combined over conditions and people.
//
// Amplitudes are in µV and times in s, zero at the event. A value at a latency
// between samples is that of the not-a-knot cubic spline over the whole epoch;
// the mean of a window is the mean of all samples in it, ends included.
//
// # Errors
//
// The standard error of a mean of n values is
//
//	SE = sd/√n,  sd² = Σ (xᵢ − x̄)² / (n−1)
//
// with n−1 in the sd; a single value has none. For a participant the values are
// the epochs, for a grand average the participants (see [Grand]). The error of
// a [Difference] of two conditions within one participant, whose epochs are
// independent, is √(SE₁² + SE₂²). Right minus left of a mirror pair is taken
// epoch by epoch (or participant by participant), since neighbouring sites are
// not independent.
//
// Instead of the mean the values may have another [epoch.Centre], which the
// [Info] names, with its own error. Right minus left is then the centre of each
// value's own difference, and what is linear is refused.
//
// What is linear, another reference or other sites, is done to an average as it
// would be to every epoch: see [Linear].
//
// How averages lie in files is said in package store, and how recordings become
// averages in package erp.
package average
