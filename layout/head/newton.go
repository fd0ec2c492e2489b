package head

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

func floatsWithin(v []float64, tolerance float64) bool {
	for _, x := range v {
		if !(math.Abs(x) <= tolerance) {
			return false
		}
	}
	return true
}

// newtonStep solves for the change of v that brings r to zero, with slopes from
// differences.
func newtonStep(f func([]float64) []float64, v, r []float64) (step []float64, ok bool) {
	const h = 1e-4
	slopes := mat.NewDense(len(r), len(v), nil)
	for j := range v {
		kept := v[j]
		v[j] = kept + h
		up := f(v)
		v[j] = kept - h
		down := f(v)
		v[j] = kept
		for i := range r {
			slopes.Set(i, j, (down[i]-up[i])/(2*h))
		}
	}
	var x mat.VecDense
	if err := x.SolveVec(slopes, mat.NewVecDense(len(r), r)); err != nil {
		return nil, false
	}
	return x.RawVector().Data, true
}
