// Package inference decides whether differences are real: t, tests by sign
// flips and exchanges with the largest statistic, clusters over sites and time
// or threshold-free enhancement, intervals. Arrays come in, numbers go out.
//
// # Permutations
//
// Under the null hypothesis a person's difference is as likely with the other
// sign (sign flips), or a person as likely in the other group (exchanges).
// Where the arrangements are no more than asked for, all of them are gone
// through, the identity among them, and p = count/total; else B are drawn at
// random and p = (b+1)/(B+1). Statistics that differ by less than 1e-12 of the
// larger are equal. Arrangement i is drawn from (seed, i), so that the result
// does not depend on the number of processors.
//
// Sources: E. Maris and R. Oostenveld, "Nonparametric statistical testing of
// EEG- and MEG-data", J Neurosci Methods 164:177 (2007); T. E. Nichols and A.
// P. Holmes, "Nonparametric permutation tests for functional neuroimaging", Hum
// Brain Mapp 15:1 (2002), for the largest statistic; B. Efron, "Better
// bootstrap confidence intervals", J Am Stat Assoc 82:171 (1987); Y. Benjamini
// and Y. Hochberg, "Controlling the false discovery rate", J R Stat Soc B
// 57:289 (1995); S. M. Smith and T. E. Nichols, "Threshold-free cluster
// enhancement", NeuroImage 44:83 (2009).
//
// # Decisions
//
// p is counted, not approximated, and the smallest p that the number of people
// allows is always said.
package inference
