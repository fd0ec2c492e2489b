package reject

import (
	"math"

	"calotte/topo/erp/internal/stat"
)

// grossDeviations is how many robust standard deviations above the median are
// beyond what brain, eyes and muscles do. The choice is ours.
const grossDeviations = 6

// Gross says which stretches are beyond what a brain, eyes and muscles do:
// those whose typical amplitude has a logarithm more than grossDeviations
// robust deviations (1.4826 MAD) above the median of all stretches. A stretch
// that is no number is gross.
func Gross(typical []float64) []bool {
	logs := make([]float64, len(typical))
	for i, x := range typical {
		logs[i] = math.Log(x)
	}
	centre, deviation := stat.Middle(logs)
	gross := make([]bool, len(typical))
	for i, x := range logs {
		gross[i] = !(x <= centre+grossDeviations*NormalDeviation*deviation)
	}
	return gross
}
