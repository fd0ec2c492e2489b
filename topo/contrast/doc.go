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
// pairs of a latency by the largest t (see package inference). Of a difference
// of two conditions this tests the interaction of condition and hemisphere.
// Without units the standard error that the average keeps of the pair gives the
// interval, and there is no p.
//
// The side that is larger on the scalp need not be the side that is active in
// the brain.
//
// # The cap
//
// What a cap that sat otherwise would have read is asked of the spline: at the
// moved sites. By how much a pair would change is told for a cap 5 mm to one
// side and 5 mm forward, along the scalp at Cz, and for one twisted by 3° about
// the vertical; and how far it must have slid to one side to explain the
// difference away. With some 60 sites the change of shallow sources is known in
// size only (see [CapChange]), and below the lowest electrodes not at all.
package contrast
