package study

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/topo/forward"
)

// backgroundDipoles is how many random cortical dipoles the background stands
// for. With independent courses of one spectrum only their covariance over the
// sensors matters, so it is drawn from that covariance's eigenvectors.
const backgroundDipoles = 400

// backgroundLoss is the share of the background's variance that the dropped
// eigenvectors hold: less than the sensors' own noise.
const backgroundLoss = 1e-3

// newBackground returns the patterns of the background, one row an
// eigenvector, with a mean variance over the sites of 1 in average reference.
func newBackground(rng *rand.Rand, s *scalp) ([][]float64, error) {
	dipoles := make([]forward.Dipole, backgroundDipoles)
	for j := range dipoles {
		place := anyDirection(rng)
		for place.Z < -0.5 { // no cortex there
			place = anyDirection(rng)
		}
		g := generator{direction: place, depth: 0.50 + 0.30*rng.Float64(), moment: anyDirection(rng)}
		dipoles[j] = g.dipole()
	}
	rows, err := s.patterns(dipoles)
	if err != nil {
		return nil, err
	}

	patterns, err := principal(rows)
	if err != nil {
		return nil, fmt.Errorf("background of %d dipoles: %w", backgroundDipoles, err)
	}
	normalise(patterns, sites(), s)
	return patterns, nil
}

// principal returns the eigenvectors of the rows' covariance over the sensors,
// each as long as its standard deviation, the longest first, until what is left
// is too little to matter. An eigenvector's sign is free and would depend on
// the last bit of a row; here its sum is positive, so that the study is the
// same wherever it is computed.
func principal(rows [][]float64) ([][]float64, error) {
	covariance := mat.NewSymDense(sensorCount, nil)
	for _, row := range rows {
		covariance.SymRankOne(covariance, 1, mat.NewVecDense(sensorCount, row))
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(covariance, true) {
		return nil, errors.New("the eigenvalues did not converge")
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)

	values := eigen.Values(nil) // ascending
	left := mat.Trace(covariance)
	var patterns [][]float64
	for j := sensorCount - 1; left > backgroundLoss*mat.Trace(covariance); j-- {
		pattern := mat.Col(nil, j, &vectors)
		floats.Scale(math.Copysign(math.Sqrt(values[j]), floats.Sum(pattern)), pattern)
		patterns = append(patterns, pattern)
		left -= values[j]
	}
	return patterns, nil
}

// anyDirection draws a unit vector, all directions alike.
func anyDirection(rng *rand.Rand) r3.Vec {
	return r3.Unit(r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()})
}

// normalise scales independent patterns of unit variance together, to a mean
// variance of 1 over the named sites in average reference.
func normalise(patterns [][]float64, sites []string, s *scalp) {
	sum := 0.0
	for _, pattern := range patterns {
		centred := slices.Clone(pattern)
		toAverage(centred)
		for _, site := range sites {
			v := centred[s.index[site]]
			sum += v * v
		}
	}
	for _, pattern := range patterns {
		floats.Scale(math.Sqrt(float64(len(sites))/sum), pattern)
	}
}

// scaled returns patterns times a factor.
func scaled(patterns [][]float64, factor float64) [][]float64 {
	result := make([][]float64, len(patterns))
	for j, pattern := range patterns {
		result[j] = slices.Clone(pattern)
		floats.Scale(factor, result[j])
	}
	return result
}
