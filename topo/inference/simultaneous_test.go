package inference_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"calotte/topo/inference"
)

// Intervals hold all planted means at once about as often as they say.
func TestSimultaneousCoverage(t *testing.T) {
	const sets = 1000
	for _, c := range []struct{ people, points int }{{8, 4}, {12, 1}, {12, 4}, {12, 27}, {24, 27}} {
		d, err := inference.Paired(c.people)
		if err != nil {
			t.Fatal(err)
		}
		held, widths := 0, 0.
		for set := range sets {
			random := rand.New(rand.NewPCG(uint64(100*c.people+c.points), uint64(set)))
			data := mat.NewDense(c.people, c.points, nil)
			for i := range c.people {
				shared := random.NormFloat64()
				for j := range c.points {
					data.Set(i, j, float64(j)+shared+random.NormFloat64())
				}
			}
			width, err := inference.Simultaneous(t.Context(), d, data, .95,
				inference.Options{Arrangements: 1000, Seed: 1})
			if err != nil {
				t.Fatal(err)
			}
			widths += width / sets
			all := true
			for j := range c.points {
				mean, sd := stat.MeanStdDev(mat.Col(nil, j, data), nil)
				all = all && math.Abs(mean-float64(j)) <= width*sd/math.Sqrt(float64(c.people))
			}
			if all {
				held++
			}
		}
		single := distuv.StudentsT{Sigma: 1, Nu: float64(c.people - 1)}.Quantile(.975)
		t.Logf("%d people, %d points: held in %d of %d; %.2f standard errors wide, one by itself %.2f", c.people,
			c.points, held, sets, widths, single)
		if held < 930 || held > 975 {
			t.Errorf("%d people, %d points: held in %d of %d", c.people, c.points, held, sets)
		}
	}
}
