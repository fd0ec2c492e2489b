// Package filter designs and applies zero-phase filters for recordings:
// high-pass, low-pass, and a notch at the mains frequency and its multiples.
//
// # Definition
//
// Every filter is a finite impulse response (FIR) of odd length 2M+1, symmetric
// about its middle, whose delay of M samples is removed: it moves nothing in
// time. A low-pass with its cut-off at f, at a sampling rate R, is the windowed
// sinc
//
//	h(k) ∝ 2f/R · sinc(2fk/R) · (0.54 + 0.46 cos(πk/M)),  |k| ≤ M,  Σ h(k) = 1
//
// with the Hamming window. A high-pass is an impulse minus such a low-pass, so
// that constants vanish. A notch is an impulse minus a band-pass around each
// multiple, a difference of two windowed sincs, the whole scaled to gain 1 at 0
// Hz. Several of them are convolved: their gains multiply.
//
// Cut-offs are where the gain is ½ (−6 dB). The transition, from the edge of
// the pass band to that of the stop band, is centred on the cut-off; the
// Hamming window makes it 3.3·R/(2M+1) wide and the stop band 53 dB deep
// (Ifeachor & Jervis, Digital Signal Processing: A Practical Approach, table of
// windows; from memory). That rule gives the length. Where the gain in the stop
// band would not stay below −50 dB, since the ripples of two edges meet or the
// filter has few taps, it is the next length above, in steps of 1 %, for which
// it does.
//
// # Defaults
//
// The transitions are this package's own choice, as narrow as the purpose asks
// and no narrower, since a filter rings for as long as it is.
//
//   - High-pass: the cut-off itself, at most 2 Hz. A wider one would no longer
//     stop at 0 Hz. The pass band begins at 1.5 times the cut-off.
//   - Low-pass: a quarter of the cut-off, at least 2 Hz, at most the cut-off.
//   - Both: at most the width of the band between them, so that each cut-off
//     keeps its −6 dB, and at most the distance from half the sampling rate.
//   - Notch: cut-offs 1 Hz on both sides, transitions of 1 Hz. It stops what is
//     within 0.5 Hz of the mains, which EN 50160 allows the mains to wander in
//     99.5 % of a year (from memory), and passes what is beyond 1.5 Hz. A stop
//     band without room for an upper transition reaches up to half the rate.
//
// # Edges and gaps
//
// Each stretch without a gap is filtered on its own. Beyond its ends it is
// continued by odd reflection, x(−k) = 2x(0) − x(k): a constant goes on as a
// constant, a straight drift as a straight drift. One reflection has to be
// enough: a stretch needs M+1 samples ([Filter.Shortest]). Values within M
// samples of an end rest partly on the reflection.
//
// # Computation
//
// The filter is computed as it is defined, sample by sample of the result, by
// overlap-save (Proakis & Manolakis, Digital Signal Processing; from memory):
// exact but for rounding, about 1e-14 of the largest value of the two signals
// that are computed together.
package filter
