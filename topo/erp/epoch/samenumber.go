package epoch

import (
	"fmt"
	"math/rand/v2"
	"slices"
)

// SameNumber draws from each of several conditions as many epochs as the
// smallest has, without replacement, and returns their indexes in increasing
// order, ready for [Collection.Pick]. Condition i draws from (seed, i); one
// that has no more than the smallest keeps all of its own.
func SameNumber(counts []int, seed uint64) [][]int {
	picks := make([][]int, len(counts))
	for i, n := range counts {
		rng := rand.New(rand.NewPCG(seed, uint64(i)))
		picks[i] = rng.Perm(n)[:slices.Min(counts)]
		slices.Sort(picks[i])
	}
	return picks
}

// unequalBy is the excess of one number of epochs over another from which peaks
// should not be compared (common practice, no source).
const unequalBy = 0.10

// UnequalWarning warns where the numbers of epochs of two conditions differ by
// more than a tenth: noise adds to a peak, so that the average of fewer epochs
// has the larger ones for no other reason. It is empty where there is no need;
// means over a window are not concerned.
func UnequalWarning(conditions []string, counts []int) string {
	if len(counts) == 0 {
		return ""
	}
	most, fewest := slices.Index(counts, slices.Max(counts)), slices.Index(counts, slices.Min(counts))
	if float64(counts[most]) <= (1+unequalBy)*float64(counts[fewest]) {
		return ""
	}
	return fmt.Sprintf("%s has %d epochs, %s %d: noise makes the peaks of the smaller number larger; compare means "+
		"over a window, or equal numbers of epochs",
		conditions[most], counts[most], conditions[fewest], counts[fewest])
}
