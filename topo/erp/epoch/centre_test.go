package epoch

import (
	"math"
	"math/rand/v2"
	"testing"

	"calotte/topo/internal/erptest"
)

// Centres and their errors are those of scipy and numpy
// (testdata/erp/centre.py).
func TestCentresAgainstScipy(t *testing.T) {
	var samples []struct {
		Values    []float64
		Mean, SEM float64
		Trimmed   float64
		TrimmedSE float64 `json:"trimmed_se"`
		Median    float64
		MedianSE  float64 `json:"median_se"`
		AllDraws  bool    `json:"all_draws"`
	}
	erptest.ReadJSON(t, "centre.json", &samples)
	for _, s := range samples {
		n := len(s.Values)
		allowed := 1e-12
		if !s.AllDraws {
			allowed = .01 * s.MedianSE
		}
		for _, c := range []struct {
			Centre
			centre, se, allowed float64
		}{{Mean, s.Mean, s.SEM, 1e-12}, {Trimmed, s.Trimmed, s.TrimmedSE, 1e-12},
			{Median, s.Median, s.MedianSE, allowed}} {
			centre, se := c.Of(s.Values)
			if !erptest.Near(centre, c.centre, 1e-12) || !erptest.Near(se, c.se, c.allowed) {
				t.Errorf("%v of %d: %.6f ± %.6f, want %.6f ± %.6f", c.Centre, n, centre, se, c.centre,
					c.se)
			}
		}
	}
}

// Intervals of 95 % hold the truth so many times of 1,000 as the comment of
// [Centre.Of] says. The truth is planted: the centre of the distribution, zero
// for the symmetric ones, and that of two million draws for the skewed one.
func TestCoverageOfCentres(t *testing.T) {
	draw := []func(*rand.Rand) float64{
		func(r *rand.Rand) float64 { return r.NormFloat64() },
		func(r *rand.Rand) float64 { // Student's t with 2 degrees of freedom
			return r.NormFloat64() / math.Sqrt(r.ExpFloat64())
		},
		func(r *rand.Rand) float64 { return math.Exp(r.NormFloat64() / 2) },
	}
	truth := map[Centre][3]float64{
		Mean: {0, 0, math.Exp(1. / 8)}, Trimmed: {0, 0, trimmedTruth(draw[2])}, Median: {0, 0, 1},
	}
	for c, want := range map[Centre]map[int][3]int{
		Mean:    {12: {961, 962, 926}, 20: {954, 956, 941}, 90: {945, 967, 947}},
		Trimmed: {12: {959, 970, 966}, 20: {941, 947, 943}, 90: {952, 954, 954}},
		Median:  {12: {955, 971, 959}, 20: {947, 957, 952}, 90: {951, 948, 934}},
	} {
		for n, counts := range want {
			var got [3]int
			for d, one := range draw {
				for i := range uint64(1000) {
					r := rand.New(rand.NewPCG(uint64(d+1), i))
					x := make([]float64, n)
					for k := range x {
						x[k] = one(r)
					}
					centre, se := c.Of(x)
					if math.Abs(centre-truth[c][d]) <= c.HalfInterval(n)*se {
						got[d]++
					}
				}
			}
			if got != counts {
				t.Errorf("%v of %d: %v of 1,000 intervals hold the truth, want %v", c, n, got, counts)
			}
		}
	}
}

// trimmedTruth is the trimmed mean of a distribution.
func trimmedTruth(draw func(*rand.Rand) float64) float64 {
	r := rand.New(rand.NewPCG(9, 9))
	x := make([]float64, 2e6)
	for k := range x {
		x[k] = draw(r)
	}
	truth, _ := Trimmed.Of(x)
	return truth
}
