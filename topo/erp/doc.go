// Package erp turns recordings into averages: epochs around events, repair,
// references, baseline, rejection, means and standard errors, and their
// combination over runs, conditions and people.
//
// Amplitudes are in µV and times in s, zero at the event. The order of work on
// an epoch is: cut, repair, re-reference, subtract the baseline, reject by
// peak-to-peak amplitude, accumulate.
//
// An epoch holds every sample of its window, both ends included, with a
// tolerance of a millionth of a sample. A value at a latency between samples is
// that of the not-a-knot cubic spline over the whole epoch; the mean of a
// window is the mean of all samples in it, ends included.
//
// The standard error of a mean is sd/√n with n−1 in the sd; a single epoch has
// none. For a participant the units are the epochs, for a grand average the
// participants.
package erp
