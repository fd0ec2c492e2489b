package epoch

import (
	"fmt"

	"gonum.org/v1/gonum/mat"
)

// MeanCovariance is the covariance of the sites' mean amplitudes, site × site
// in µV², from one score an epoch and site, epoch × site (see
// [Collection.Scores]):
//
//	Σ = 1/(n(n−1)) Σₖ (xₖ − x̄)(xₖ − x̄)ᵀ
//
// Its diagonal holds the squared standard errors. It is what the error of a map
// asks for: neighbouring sites are not independent.
func MeanCovariance(scores [][]float64) (*mat.SymDense, error) {
	n := len(scores)
	if n < 2 {
		return nil, fmt.Errorf("%d epochs: a covariance needs 2 or more", n)
	}
	sites := len(scores[0])
	mean := make([]float64, sites)
	for _, row := range scores {
		for i, x := range row {
			mean[i] += x / float64(n)
		}
	}
	deviations := mat.NewDense(sites, n, nil)
	for k, row := range scores {
		for i, x := range row {
			deviations.Set(i, k, x-mean[i])
		}
	}
	covariance := mat.NewSymDense(sites, nil)
	covariance.SymOuterK(1/(float64(n)*float64(n-1)), deviations)
	return covariance, nil
}
