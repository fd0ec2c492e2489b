package topo

import (
	"math"
	"strings"
	"testing"

	"calotte/layout"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

func TestRefusals(t *testing.T) {
	good := sites64(t)
	moved := func(name string, p r3.Vec) []layout.Site {
		sites := append([]layout.Site(nil), good...)
		for i := range sites {
			if sites[i].Name == name {
				sites[i].Position = p
			}
		}
		return sites
	}
	for _, c := range []struct {
		name    string
		sites   []layout.Site
		options Options
		want    string
	}{
		{"three sites", good[:3], Options{Radius: radius}, "3 sites: a spline needs at least 4"},
		{"order 2", good, Options{Order: 2, Radius: radius}, "spline order 2: expected 3 to 6"},
		{"order 7", good, Options{Order: 7, Radius: radius}, "spline order 7: expected 3 to 6"},
		{"smoothing", good, Options{Smoothing: -1, Radius: radius}, "spline smoothing -1"},
		{"smoothing NaN", good, Options{Smoothing: math.NaN(), Radius: radius}, "spline smoothing NaN"},
		{"no radius", good, Options{}, "head radius 0 mm"},
		{"radius in cm", good, Options{Radius: 8.9}, "head radius 8.9 mm is not a head's: is it 8.9 cm?"},
		{"centre", moved("Cz", r3.Vec{}), Options{Radius: radius}, `site "Cz" is at {0 0 0}`},
		{"infinite", moved("Pz", r3.Vec{X: math.Inf(1)}), Options{Radius: radius}, `site "Pz"`},
		{"NaN", moved("Pz", r3.Vec{Y: math.NaN()}), Options{Radius: radius}, `site "Pz"`},
		{"twice", moved("P7", r3.Scale(1.1, good[0].Position)), Options{Radius: radius},
			`sites "FC5" and "P7" are at one place`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := New(c.sites, c.options); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want an error with %q", err, c.want)
			}
		})
	}
}

func TestSolveRefusals(t *testing.T) {
	s := build(t, sites64(t), Options{})
	hole := white(64, 3)
	hole.Set(10, 2, math.NaN())
	near := sites64(t)
	near[5].Position = r3.Add(near[4].Position, r3.Vec{X: 1e-3})
	for _, c := range []struct {
		name       string
		spline     *Spline
		amplitudes mat.Matrix
		want       string
	}{
		{"rows", s, white(63, 1), "amplitudes of 63 sites for a spline of 64"},
		{"NaN", s, hole, `site "Cz" has amplitude NaN in column 3`},
		{"pair", build(t, near, Options{Order: 5}), white(64, 1),
			`"FC2" and "FC4", are 0.00093 mm apart: use an order below 5 or smoothing above 0`},
		{"lowest order", build(t, near, Options{Order: 3}),
			mat.NewDense(64, 1, append(make([]float64, 63), 1e6)),
			"apart: use smoothing above 0"},
		{"345 sites", build(t, sites345(t), Options{Order: 6}), white(345, 1),
			"rounding may move a spline of order 6 through these 345 sites by"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := c.spline.Solve(c.amplitudes)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want an error with %q", err, c.want)
			}
			t.Log(err)
		})
	}
}

// The remedies that an error offers must work.
func TestRemedies(t *testing.T) {
	for _, o := range []Options{{Order: 4}, {Order: 6, Smoothing: 1e-6}} {
		s := build(t, sites345(t), o)
		if _, err := s.Solve(white(345, 1)); err != nil {
			t.Errorf("order %d, smoothing %g: %v", o.Order, o.Smoothing, err)
		}
	}
}
