// Package contrast measures what differs between the sides of the head, between
// conditions and between people: right minus left, and what a crooked cap has
// to do with it; contralateral minus ipsilateral; one condition or group
// against another; the scores of components. Averages come in, numbers come
// out, and the sentences that say them.
//
// Amplitudes are in µV, times in s, lengths in mm. Left and right are the
// wearer's, and asymmetry is right minus left. What is not known is NaN.
//
// # Sides
//
// A difference between sides is tested over the units behind an average: the
// people of a grand average, or the epochs of one person. Its interval is that
// of the mean by Student's t, its p by sign flips, and the corrected p over all
// pairs of a latency by the largest t (see package inference). A wider interval
// holds all pairs of the latency at once; it and p may disagree close to .05,
// since one flips the differences less their means. Of a difference of two
// conditions this tests the interaction of condition and hemisphere.
// Without units the standard error that the average keeps of the pair gives the
// interval, and there is no p.
//
// The side that is larger on the scalp need not be the side that is active in
// the brain.
//
// # Two factors
//
// Whether a difference is larger at one level of another factor, [TwoFactors]
// asks of each person's own scores: the interaction is the difference of the
// differences. Main effects are averaged over the other factor, simple effects
// at one level of it, all over the people who have all cells. Within people
// intervals are those of the mean by t and p by sign flips. Between groups they
// are Welch's, and people are exchanged; the main effect of the other factor is
// that of the mean of both groups' means, however many people each has.
//
// # The cap
//
// What a cap that sat otherwise would have read is asked of the spline: at the
// moved sites. By how much a pair would change is told for a cap 5 mm to one
// side and 5 mm forward, along the scalp at Cz, for one twisted by 3° about the
// vertical, and for one whose left half is stretched. The smallest turn that
// explains a difference is looked for in all directions, by the turned spline
// itself up to 15 mm at the ring; it is named by how the cap sat, which is the
// inverse of the turn at which the spline reads no difference. With some 60
// sites the change of shallow sources is known in size only (see
// [Reading.Changes]), and below the lowest electrodes not at all.
//
// For a group only what all caps share shifts the mean. What differs from cap
// to cap is in the spread of the people, and so in the interval. For one person
// the cap is a single turn, of which the epochs know nothing.
//
// # Placement
//
// A [Placement] says how the caps sat and how sure that is: a [Pose] of each
// person. Readings are then those at the ideal sites, from the field of the
// electrodes, and their error is
//
//	sampling² + interpolation² + placement²
//
// with the mean square change of the reading over the poses that the covariance
// allows as the last, and as the second the error of the spline, without the
// noise of the electrodes, at the places where they were found. The half width
// of an interval is the root of (t·sampling)² + (1.96·interpolation)² +
// (1.96·placement)². For a group of N only the covariance that its caps share
// is added, of the mean field; what is each cap's own is Σ gᵢᵀCᵢgᵢ/N² of the
// s²/N of its people, and is told as a share of it. p takes no account of it.
//
// On a layered sphere, with caps that sit off by 5 mm, 95 % intervals of right
// minus left hold the truth in .95 of sources at .60 and .75 of the radius, and
// in .64 without placement (see the test of it for all numbers).
package contrast
