package topo

import (
	"math"
	"testing"

	"calotte/layout"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/gonum/stat"
)

// without returns the sites and amplitudes of all but one site.
func without(sites []layout.Site, v *mat.Dense, out int) ([]layout.Site, *mat.Dense) {
	_, columns := v.Dims()
	rest := append(append([]layout.Site(nil), sites[:out]...), sites[out+1:]...)
	amplitudes := mat.NewDense(len(rest), columns, nil)
	for i := range rest {
		amplitudes.SetRow(i, v.RawRowView(i+min(1, max(0, i-out+1))))
	}
	return rest, amplitudes
}

func TestLeaveOneOutMatchesLeavingOut(t *testing.T) {
	sites := sites64(t)
	v := white(64, 2)
	for _, o := range []Options{{Order: 3}, {Order: 4}, {Order: 4, Smoothing: 1e-4}, {Order: 5, Smoothing: 1e-2}} {
		s := build(t, sites, o)
		got, err := s.LeaveOneOut(solve(t, s, v))
		if err != nil {
			t.Fatal(err)
		}
		worst := 0.0
		for out := range sites {
			rest, amplitudes := without(sites, v, out)
			less := build(t, rest, o)
			predicted := less.Interpolate([]r3.Vec{sites[out].Position}, Potential,
				solve(t, less, amplitudes))
			for j := range 2 {
				worst = math.Max(worst, math.Abs(v.At(out, j)-predicted.At(0, j)-got.At(out, j)))
			}
		}
		t.Logf("order %d, smoothing %g: off by %.1e µV", o.Order, o.Smoothing, worst)
		if worst > 1e-6 {
			t.Errorf("order %d, smoothing %g: residuals are off by %.2g µV, want at most 1e-6", o.Order,
				o.Smoothing,
				worst)
		}
	}
}

// With noise of one size at every site and a smooth field, cross-validation
// must choose a smoothing that is neither none nor all, and B must have the
// trace that counts residual degrees of freedom: λB = I − hat matrix.
func TestGCV(t *testing.T) {
	sites := sites64(t)
	noise := white(64, 5)
	v := mat.NewDense(64, 5, nil)
	for i, site := range sites {
		for j := range 5 {
			v.Set(i, j, 20*harmonic(2, 1, unit(site.Position))+noise.At(i, j)/5)
		}
	}
	scores := map[float64]float64{}
	for _, smoothing := range []float64{1e-9, 1e-4, 1e-3, 1e-2, 10} {
		s := build(t, sites, Options{Smoothing: smoothing})
		c := solve(t, s, v)
		score, err := s.GCV(c)
		if err != nil {
			t.Fatal(err)
		}
		scores[smoothing] = score

		fitted := s.Interpolate(positions(sites), Potential, c)
		var residual mat.Dense
		residual.Sub(v, fitted)
		weights, err := s.Weights(positions(sites), Potential)
		if err != nil {
			t.Fatal(err)
		}
		free := 64 - mat.Trace(weights)
		want := 64 * math.Pow(mat.Norm(&residual, 2), 2) / (free * free)
		if smoothing >= 1e-4 && math.Abs(score-want) > 1e-6*want {
			t.Errorf("smoothing %g: score %g, from residuals and the hat matrix %g", smoothing, score, want)
		}
	}
	t.Log(scores)
	if best := math.Min(scores[1e-4], math.Min(scores[1e-3], scores[1e-2])); best >= scores[1e-9] ||
		best >= scores[10] {
		t.Errorf("scores %v: expected the lowest between the ends", scores)
	}
}

func TestVarianceMatchesProjectedEpochs(t *testing.T) {
	const epochs = 40
	s, points := build(t, sites64(t), Options{}), spread(60)
	v := white(64, epochs)
	covariance := mat.NewSymDense(64, nil)
	stat.CovarianceMatrix(covariance, v.T(), nil)
	covariance.ScaleSym(1.0/epochs, covariance)
	for _, q := range []Quantity{Potential, CurrentDensity} {
		got, err := s.Variance(points, q, covariance)
		if err != nil {
			t.Fatal(err)
		}
		values := s.Interpolate(points, q, solve(t, s, v))
		for i := range points {
			want := stat.Variance(values.RawRowView(i), nil) / epochs
			if math.Abs(got[i]-want) > 1e-9*want {
				t.Fatalf("%v: variance %g at %v, of projected epochs %g", q, got[i], points[i], want)
			}
		}
	}
}

func TestVarianceRefusals(t *testing.T) {
	s := build(t, sites64(t), Options{})
	if _, err := s.Variance(spread(3), Potential, mat.NewSymDense(63, nil)); err == nil {
		t.Error("a covariance of 63 sites was accepted for 64")
	}
	negative := mat.NewSymDense(64, nil)
	negative.SetSym(3, 3, -1)
	if _, err := s.Variance(spread(3), Potential, negative); err == nil {
		t.Error("a negative variance was accepted")
	}
}
