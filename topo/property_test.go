package topo

import (
	"math"
	"runtime"
	"testing"

	"calotte/layout"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func TestConstantsAreReproduced(t *testing.T) {
	s := build(t, sites64(t), Options{})
	v := mat.NewDense(64, 1, nil)
	for i := range 64 {
		v.Set(i, 0, -37.5)
	}
	c := solve(t, s, v)
	values, density := s.Interpolate(spread(500), Potential, c), s.Interpolate(spread(500), CurrentDensity, c)
	for i := range 500 {
		if math.Abs(values.At(i, 0)+37.5) > 1e-9 || math.Abs(density.At(i, 0)) > 1e-9 {
			t.Fatalf("a constant of -37.5 µV became %v µV and %v µV/cm²", values.At(i, 0), density.At(i, 0))
		}
	}
}

func TestSplineTurnsWithTheHead(t *testing.T) {
	sites, points := sites64(t), spread(200)
	v := white(64, 1)
	still := build(t, sites, Options{})
	c := solve(t, still, v)
	rapid.Check(t, func(rt *rapid.T) {
		number := rapid.Float64Range(-1, 1)
		axis := r3.Vec{X: number.Draw(rt, "x"), Y: number.Draw(rt, "y"), Z: 2}
		turn := r3.NewRotation(rapid.Float64Range(-4, 4).Draw(rt, "angle"), axis)
		turned := append([]layout.Site(nil), sites...)
		for i := range turned {
			turned[i].Position = turn.Rotate(sites[i].Position)
		}
		moved := make([]r3.Vec, len(points))
		for i, p := range points {
			moved[i] = turn.Rotate(p)
		}
		s := build(t, turned, Options{})
		for _, q := range []Quantity{Potential, CurrentDensity} {
			if off := farthest(s.Interpolate(moved, q, solve(t, s, v)),
				still.Interpolate(points, q, c)); off > 1e-6 {
				rt.Fatalf("turning the head moves the %v by %g", q, off)
			}
		}
	})
}

func TestSplineIsLinear(t *testing.T) {
	s, points := build(t, sites64(t), Options{}), spread(200)
	v := white(64, 2)
	parts := s.Interpolate(points, Potential, solve(t, s, v))
	rapid.Check(t, func(rt *rapid.T) {
		a, b := rapid.Float64Range(-5, 5).Draw(rt, "a"), rapid.Float64Range(-5, 5).Draw(rt, "b")
		mix := mat.NewVecDense(2, []float64{a, b})
		var blend, want mat.VecDense
		blend.MulVec(v, mix)
		want.MulVec(parts, mix)
		if off := farthest(s.Interpolate(points, Potential, solve(t, s, &blend)), &want); off > 1e-7 {
			rt.Fatalf("the spline of %g·v + %g·w is off by %g µV", a, b, off)
		}
	})
}

func TestBasisAtTheEdges(t *testing.T) {
	s := build(t, sites64(t), Options{})
	if rows, columns := s.Basis(nil, Potential).Dims(); rows != 0 || columns != 0 {
		t.Errorf("no points give %d × %d, want 0 × 0", rows, columns)
	}
	if v := s.Basis([]r3.Vec{{}}, Potential).At(0, 0); !math.IsNaN(v) {
		t.Errorf("the centre of the head gives %v, want NaN", v)
	}
	near, far := s.Basis([]r3.Vec{{X: 1, Y: 2, Z: 3}}, Potential), s.Basis([]r3.Vec{{X: 20, Y: 40, Z: 60}},
		Potential)
	if off := farthest(near, far); off > 1e-15 {
		t.Errorf("a point's distance from the centre changes the basis by %g", off)
	}
}

func TestBasisIsTheSameOnAnyNumberOfCPUs(t *testing.T) {
	s, points := build(t, sites64(t), Options{}), spread(1001)
	all := s.Basis(points, Potential)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	for _, cpus := range []int{1, 3, 7} {
		runtime.GOMAXPROCS(cpus)
		if !mat.Equal(s.Basis(points, Potential), all) {
			t.Errorf("%d CPUs give another basis", cpus)
		}
	}
}
