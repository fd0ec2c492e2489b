package scalp

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/gonum/stat"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/internal/figtest"
	"calotte/topo"
)

// Maps of the standard error and of t against a bootstrap over epochs: whole
// epochs are drawn anew, each mean is interpolated, and the spread of the maps
// is the error, within what the number of draws leaves uncertain.
func TestErrorsAgainstBootstrap(t *testing.T) {
	const epochs, draws = 40, 4000
	sites := figtest.Place(t, head.Sphere(89.127), layout.Set1020())
	spline := figtest.SplineOf(t, sites)
	random := rand.New(rand.NewPCG(9, 10))
	mixing := mat.NewDense(len(sites), len(sites), nil)
	mixing.Apply(func(i, j int, _ float64) float64 {
		return math.Exp(-r3.Norm(r3.Sub(sites[i].Position, sites[j].Position)) / 60)
	}, mixing)
	data := mat.NewDense(len(sites), epochs, nil)
	data.Apply(func(int, int, float64) float64 { return 5 * random.NormFloat64() }, data)
	data.Mul(mixing, mat.DenseCopyOf(data))

	mean, spread := mat.NewDense(len(sites), 1, nil), mat.NewDense(len(sites), epochs, nil)
	for i := range sites {
		row := data.RawRowView(i)
		mean.Set(i, 0, 3+stat.Mean(row, nil))
		for k, x := range row {
			spread.Set(i, k, (x-stat.Mean(row, nil))/math.Sqrt(epochs*(epochs-1)))
		}
	}
	s := &Sheet{
		Columns: []string{"170 ms"}, Shows: StandardErrors,
		Rows: []Row{{Title: "known", Spline: spline, Values: mean, Spread: []mat.Matrix{spread},
			Freedom: epochs - 1}},
	}
	errors := compose(t, s).panels[0].field
	s.Shows = TValues
	ratios := compose(t, s).panels[0].field

	points, directions := randomDisc(random, 25)
	weights, err := spline.Weights(directions, topo.Potential)
	if err != nil {
		t.Fatal(err)
	}
	var atPoints, at mat.Dense
	atPoints.Mul(weights, data) // point × epoch
	at.Mul(weights, mean)
	for k, p := range points {
		var means []float64
		for range draws {
			sum := 0.0
			for range epochs {
				sum += atPoints.At(k, random.IntN(epochs))
			}
			means = append(means, sum/epochs)
		}
		// The bootstrap's spread is that of the sample, n in place of
		// n−1; its own relative error over the draws is 1/√(2·draws).
		want := stat.StdDev(means, nil) * math.Sqrt(epochs/(epochs-1.))
		allowed := 4 * want / math.Sqrt(2*draws)
		if got := errors.At(p); math.Abs(got-want) > allowed {
			t.Errorf("error at %v: %.4f, the bootstrap says %.4f ± %.4f", p, got, want, allowed/4)
		}
		if got, want := ratios.At(p), at.At(k, 0)/want; math.Abs(got/want-1) > allowed/errors.At(p)+.002 {
			t.Errorf("t at %v: %.3f, the bootstrap says %.3f", p, got, want)
		}
	}
}
