package topo

import (
	"bufio"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"calotte/layout"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// The file was made by numpy, which places the sites, sums the kernels and
// solves the bordered system on its own; see spline.py.
func TestSplineMatchesNumpy(t *testing.T) {
	f, err := os.Open("../testdata/topo/spline.tsv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines := bufio.NewScanner(f)
	lines.Scan()
	heading := strings.Split(lines.Text(), "\t")
	rows := map[string][]string{}
	for lines.Scan() {
		row := strings.Split(lines.Text(), "\t")
		rows[row[0]] = row
	}
	number := func(site string, column int) float64 {
		v, err := strconv.ParseFloat(rows[site][column], 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}

	everywhere, measured := place(t, layout.Set1010()), sites64(t)
	if len(rows) != len(everywhere) {
		t.Fatalf("the reference has %d sites, layout %d", len(rows), len(everywhere))
	}
	for _, s := range everywhere {
		want := r3.Vec{X: number(s.Name, 1), Y: number(s.Name, 2), Z: number(s.Name, 3)}
		if r3.Norm(r3.Sub(unit(s.Position), want)) > 1e-9 {
			t.Fatalf("site %s lies at %v, in the reference at %v", s.Name, unit(s.Position), want)
		}
	}
	amplitudes := mat.NewVecDense(len(measured), nil)
	for i, s := range measured {
		amplitudes.SetVec(i, number(s.Name, 4))
	}
	for column, o := range map[int]Options{5: {Order: 3}, 7: {Order: 4}, 9: {Order: 5}, 11: {Order: 6},
		13: {Smoothing: 1e-4}} {
		s := build(t, measured, o)
		c := solve(t, s, amplitudes)
		for q := range 2 {
			values := s.Interpolate(positions(everywhere), Quantity(q), c)
			worst := 0.0
			for i, site := range everywhere {
				worst = math.Max(worst, math.Abs(values.At(i, 0)-number(site.Name, column+q)))
			}
			t.Logf("%s: off by %.1e", heading[column+q], worst)
			if worst > 0.001 {
				t.Errorf("%s is off by %.2g, want at most 0.001", heading[column+q], worst)
			}
		}
	}
}

func TestSplinePassesThroughAmplitudes(t *testing.T) {
	for _, c := range []struct {
		sites   []layout.Site
		order   int
		allowed float64 // µV
	}{
		{sites64(t), 3, 1e-6}, {sites64(t), 4, 1e-6}, {sites128(), 3, 1e-6}, {sites128(), 4, 1e-6},
		{sites345(t), 3, 1e-4}, {sites345(t), 4, 1e-4},
	} {
		s := build(t, c.sites, Options{Order: c.order})
		v := white(len(c.sites), 20)
		got := s.Interpolate(positions(c.sites), Potential, solve(t, s, v))
		off := farthest(got, v)
		t.Logf("%d sites, order %d: %.1e µV, condition %.1e", len(c.sites), c.order, off, s.condition)
		if off > c.allowed {
			t.Errorf("%d sites, order %d: residual %.2g µV, want at most %g", len(c.sites), c.order, off,
				c.allowed)
		}
	}
}

// harmonic is Y_l^m without its norm, m < 0 for the sine.
func harmonic(l, m int, p r3.Vec) float64 {
	order := max(m, -m)
	across := complex(1, 0)
	for k := range order {
		across *= complex(float64(2*k+1), 0) * complex(p.X, p.Y)
	}
	before, now := 0.0, 1.0 // associated Legendre functions over (1−z²)^{m/2}
	for k := order; k < l; k++ {
		before, now = now, (float64(2*k+1)*p.Z*now-float64(k+order)*before)/float64(k-order+1)
	}
	if m < 0 {
		return now * imag(across)
	}
	return now * real(across)
}

// Fields of degree l are known everywhere, and so is their current density:
// l(l+1)/R² times them. Relative errors over the upper half, worst of the
// orders.
func TestSphericalHarmonics(t *testing.T) {
	for _, c := range []struct {
		sites          []layout.Site
		potential, csd [4]float64
	}{
		{sites64(t), [4]float64{1.2e-5, 7e-4, 6e-3, 1.8e-2}, [4]float64{7e-4, 1.3e-2, 6.5e-2, .13}},
		{sites345(t), [4]float64{1.6e-7, 1.2e-5, 1.2e-4, 4e-4}, [4]float64{2.4e-5, 6e-4, 3e-3, 6e-3}},
	} {
		s := build(t, c.sites, Options{})
		above := spread(8000)[:4000]
		bases := []*mat.Dense{s.Basis(above, Potential), s.Basis(above, CurrentDensity)}
		for l := 1; l <= 4; l++ {
			worst := [2]float64{}
			for m := -l; m <= l; m++ {
				v := mat.NewVecDense(len(c.sites), nil)
				for i, e := range s.units {
					v.SetVec(i, harmonic(l, m, e))
				}
				coefficients := solve(t, s, v)
				truth := mat.NewVecDense(len(above), nil)
				for i, p := range above {
					truth.SetVec(i, harmonic(l, m, p))
				}
				for q, factor := range []float64{1, float64(l*(l+1)) / (radius / 10 * radius / 10)} {
					var got, want mat.Dense
					got.Mul(bases[q], coefficients)
					want.Scale(factor, truth)
					got.Sub(&got, &want)
					worst[q] = math.Max(worst[q], mat.Norm(&got, 2)/mat.Norm(&want, 2))
				}
			}
			t.Logf("%d sites, degree %d: potential %.1e, current density %.1e", len(c.sites), l, worst[0],
				worst[1])
			if worst[0] > 1.5*c.potential[l-1] || worst[1] > 1.5*c.csd[l-1] {
				t.Errorf("%d sites, degree %d: relative errors %.2g and %.2g, want at most 1.5 "+
					"times %g and %g",
					len(c.sites), l, worst[0], worst[1], c.potential[l-1], c.csd[l-1])
			}
		}
	}
}
