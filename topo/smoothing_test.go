package topo

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// The λ that is found has the least score of a fine scan, and with noise of 1
// µV on a smooth field it brings the spline nearer to the truth than λ = 0.
func TestFindSmoothing(t *testing.T) {
	sites := sites64(t)
	random := rand.New(rand.NewPCG(1, 2))
	truth, data := mat.NewDense(len(sites), 3, nil), mat.NewDense(len(sites), 3, nil)
	for i, s := range sites {
		p := unit(s.Position)
		for j := range 3 {
			v := 6*p.Z + 4*p.X*p.Y + 3*p.Y*float64(j)
			truth.Set(i, j, v)
			data.Set(i, j, v+random.NormFloat64())
		}
	}
	found, err := FindSmoothing(sites, Options{Radius: 89}, data)
	if err != nil {
		t.Fatal(err)
	}
	score := func(lambda float64) (score, miss float64) {
		s, err := New(sites, Options{Smoothing: lambda, Radius: 89})
		if err != nil {
			t.Fatal(err)
		}
		c, err := s.Solve(data)
		if err != nil {
			t.Fatal(err)
		}
		if score, err = s.GCV(c); err != nil {
			t.Fatal(err)
		}
		var d mat.Dense
		d.Sub(s.Interpolate(positions(sites), Potential, c), truth)
		return score, mat.Norm(&d, 2)
	}
	least, miss := score(found)
	for e := -9.0; e < 0; e += .05 {
		if v, _ := score(math.Pow(10, e)); v < least*(1-1e-6) {
			t.Fatalf("λ = %.4g has the score %.6f, the one found, %.4g, has %.6f", math.Pow(10, e), v,
				found,
				least)
		}
	}
	if _, plain := score(0); miss > .8*plain {
		t.Errorf("λ = %.4g misses the truth by %.3f, λ = 0 by %.3f", found, miss, plain)
	}
}

// A field without noise that the spline reproduces needs next to none.
func TestFindSmoothingOfASmoothField(t *testing.T) {
	sites := sites64(t)
	data := mat.NewDense(len(sites), 1, nil)
	for i, s := range sites {
		data.Set(i, 0, 10*unit(s.Position).Z)
	}
	found, err := FindSmoothing(sites, Options{Radius: 89}, data)
	if err != nil || found > 1e-6 {
		t.Errorf("λ = %g, %v for a field of degree 1", found, err)
	}
}
