package scalp

import (
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"

	"calotte/layout/head"
	"calotte/render/internal/figtest"
)

func TestDoubts(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(v *mat.Dense)
		want   []int
	}{
		{"sources", func(*mat.Dense) {}, nil},
		{"one loose electrode", func(v *mat.Dense) { v.Set(20, 0, 40) }, []int{20}},
		{"two of them", func(v *mat.Dense) { v.Set(20, 0, 40); v.Set(22, 0, -25) }, []int{20, 22}},
		{"loose at the edge", func(v *mat.Dense) { v.Set(26, 0, -60) }, []int{26}},
		{"flat", func(v *mat.Dense) { v.Zero() }, nil},
		{"noise", func(v *mat.Dense) {
			for i := range 64 {
				v.Set(i, 0, float64(i*i%13)-6)
			}
		}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			sites := figtest.Place(t, head.Sphere(89.127), figtest.SixtyFour)
			spline := figtest.SplineOf(t, sites)
			v := figtest.Amplitudes(sites, 1)
			c.change(v)
			coefficients, err := spline.Solve(v)
			if err != nil {
				t.Fatal(err)
			}
			residuals, err := spline.LeaveOneOut(coefficients)
			if err != nil {
				t.Fatal(err)
			}
			got, err := doubts(spline, coefficients, v, residuals)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(got[0], c.want) {
				t.Errorf("doubtful are %v, want %v", got[0], c.want)
			}
		})
	}
}
