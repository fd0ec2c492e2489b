// Package erp turns recordings into averages: epochs around events, repair,
// references, baseline, rejection, means and standard errors, and their
// combination over runs, conditions and people.
//
// Amplitudes are in µV and times in s, zero at the event. A recording is
// filtered first, each gap-free stretch by itself; the order of work on an epoch
// is then: cut, repair, re-reference, subtract the baseline, reject by
// peak-to-peak amplitude, accumulate.
//
// # Samples
//
// An epoch holds every sample of its window, both ends included, with a
// tolerance of a millionth of a sample. A value at a latency between samples is
// that of the not-a-knot cubic spline over the whole epoch; the mean of a
// window is the mean of all samples in it, ends included.
//
// # Errors
//
// The standard error of a mean of n values is
//
//	SE = sd/√n,  sd² = Σ (xᵢ − x̄)² / (n−1)
//
// with n−1 in the sd; a single value has none. For a participant the values are
// the epochs, for a grand average the participants (see [Grand]). The error of
// a difference of two conditions within one participant, whose epochs are
// independent, is √(SE₁² + SE₂²). Right minus left of a mirror pair is taken
// epoch by epoch (or participant by participant), since neighbouring sites are
// not independent.
package erp
