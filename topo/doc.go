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
// # Error of the interpolation
//
// The spline is linear in the amplitudes y: v(r) = w(r)ᵀy with Σw = 1, whatever
// its order and smoothing. Let the true field be random, with the spherical
// kernel of order 2 about a constant mean, and each electrode have noise of its
// own, the nugget τ². Then the spline is off the field by, in µV²,
//
//	E² = σ²·(k₂(1) − 2 wᵀk₂(r) + wᵀK₂w) + τ²·wᵀw
//	k₂(x) = (Li₂((1+x)/2) + 1 − π²/6) / 4π      k₂(1) = 1/4π
//
// with k₂(r) the kernel between r and the electrodes, K₂ that among them. The
// error against what an electrode at r would read adds τ², the noise of that
// electrode; electrodes that were left out are judged by it. This is the error
// of universal kriging for the weights of the spline, not for the best ones.
//
// Roughness finds λ = τ²/σ², here not the smoothing, for all columns together,
// and σ² for each, by restricted likelihood: with V = K₂ + λI and P = V⁻¹ −
// V⁻¹11ᵀV⁻¹/1ᵀV⁻¹1,
//
//	σ² = yᵀPy/(n−1)     −2 log L = Σ_columns (log|V| + log 1ᵀV⁻¹1 + (n−1) log σ²)
//
// Intervals are by t with n − 1 degrees of freedom. There is no such error of
// the current density: the Laplacian of a field of order 2 has no finite
// variance.
//
// Intervals of 95 % cover .92 to .96 of the electrodes that were left out of
// averages of open recordings, with 63, 32 and 19 sites known; of random fields
// .95 to .96; of dipoles in four shells at .75 of the radius .95 to .96, at .87
// .93 (see testdata/topo/calibration.png). Those of 50 % cover .57 to .67.
//
// A Territory says where a map is known, E ≤ L/8 with L the largest magnitude
// at an electrode, where it is guessed, E ≤ L/3, and where the paper should
// stay blank: beyond, or too far outside of the electrodes' hull. Of the unseen
// electrodes in what is known, .03 to .05 are off by more than L/5 in open
// recordings, .04 to .06 in random fields. L/8 and L/3 are chosen by such
// counts.
//
// Departures are electrodes whose left-out residual is too large for its own
// error, with λ and σ² found without them. They are looked for again without
// the one that departs most, for a fault at the rim blames its neighbour: on
// maps of noise .005 have one, on real averages .22 to .59, where an electrode
// has a potential of its own. Swapped pairs and small drifts are found with 64
// sites and seldom with 19.
//
// Sources: H. D. Patterson and R. Thompson, "Recovery of inter-block
// information when block sizes are unequal", Biometrika 58:545 (1971); M. L.
// Stein, "Interpolation of Spatial Data" (1999); G. Wahba (1990) as above.
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
