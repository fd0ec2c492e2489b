// Package topo interpolates scalp potentials between electrodes with spherical
// splines, and estimates the current density that leaves the scalp.
//
// # Definition
//
// Electrodes e and points r are projected radially from the head's centre onto
// the unit sphere. With x the cosine between two of them, m the order and λ the
// smoothing, the potential v in µV and the current density d in µV/cm² are
//
//	g(x) = 1/4π Σ_{n≥1} (2n+1)/(n(n+1))^m Pₙ(x)      h(x): the same with m−1
//
//	[G + λI  1] [c ]   [v]        v(r) = c₀ + Σ cᵢ g(r·eᵢ)
//	[1ᵀ      0] [c₀] = [0]        d(r) = (1/R²) Σ cᵢ h(r·eᵢ)
//
// where G holds g between electrodes and R is the head's radius in cm; Options
// give it in mm, as all lengths of the interface are. The current density is
// minus the surface Laplacian: a source is positive. It depends neither on the
// reference nor on c₀.
//
// With m = 3 the current density has a cusp at every electrode: h is the series
// with exponent 2, whose slope is infinite at x = 1. Use m = 4 or more for it.
//
// Sources: F. Perrin, J. Pernier, O. Bertrand and J. F. Echallier, "Spherical
// splines for scalp potential and current density mapping", Electroencephalogr
// Clin Neurophysiol 72:184 (1989), with the corrections in 76:565 (1990); G.
// Wahba, "Spline Models for Observational Data" (1990), for leaving one out and
// generalised cross-validation.
//
// # Rooms
//
// Below this package lies everything between electrode and picture:
//
//   - unit reads times, lengths, amplitudes, frequencies, ranges, latencies.
//   - recording reads and writes EDF and EDF+; below it event chooses events,
//     trigger finds them in channels, bids reads sidecars and data sets, epochs
//     arrays of epochs.
//   - filter designs filters of zero phase and applies them.
//   - erp is the way from recordings to averages; below it its parts: montage,
//     epoch, eye, screen, reject, average; store keeps averages in files.
//   - measure takes numbers off averages, inference tells which of them are more
//     than chance, and contrast says what differs between sides, conditions and
//     people.
//   - provenance says what made a result.
//   - forward computes what dipoles cause, and study invents a study from it.
package topo
