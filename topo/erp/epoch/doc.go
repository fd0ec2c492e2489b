// Package epoch holds stretches of samples around events: their windows, their
// collections with where each comes from, and the sums of which averages are
// made.
//
// An epoch holds every sample of its [Window], both ends included, with a
// tolerance of a millionth of a sample. A [Collection] keeps the epochs of one
// condition and person after everything that precedes averaging; an
// [Accumulator] keeps their mean and its error without them, and [Halves] what
// shows the noise that is left.
//
// Cutting epochs out of a recording is package erp's, saving them that of
// packages epochs and store.
package epoch
