package stat

import (
	"math"

	"calotte/topo/measure"
)

// Mean is the mean of the values, NaN of none.
func Mean(values []float64) float64 {
	sum := 0.0
	for _, x := range values {
		sum += x
	}
	return sum / float64(len(values))
}

// Middle returns the median and the median absolute deviation from it, NaN of
// no values.
func Middle(values []float64) (centre, deviation float64) {
	centre = measure.Median(values)
	away := make([]float64, len(values))
	for i, x := range values {
		away[i] = math.Abs(x - centre)
	}
	return centre, measure.Median(away)
}
