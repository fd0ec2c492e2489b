package measure

import (
	"math"
	"slices"
)

// Median is the middle of the values, the mean of the middle two where their
// number is even, NaN of none. The values keep their order.
func Median(values []float64) float64 {
	n := len(values)
	if n == 0 {
		return math.NaN()
	}
	sorted := slices.Sorted(slices.Values(values))
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}
