package digitised

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/internal/geometry"
	"calotte/layout/internal/headtest"
)

// Geometry finds the pairs that the names say, on scattered positions too.
func TestGeometricPairsAgreeWithNames(t *testing.T) {
	ideal := headtest.Cap64(t, headtest.Measured(t))
	scattered := headtest.Planted(ideal, r3.Vec{Y: 2, Z: 2}, 2, rand.New(rand.NewPCG(4, 4)))
	var names []string
	for _, s := range ideal {
		names = append(names, s.Name)
	}
	want := layout.Pairs(names)
	for _, sites := range [][]layout.Site{ideal, scattered} {
		got, err := GeometricPairs(sites, 15)
		if err != nil || len(got.Pairs) != len(want) || len(got.Midline) != 64-2*len(want) ||
			len(got.Unpaired) != 0 {
			t.Fatalf("%+v, %v, want %d pairs", got, err, len(want))
		}
		for i, p := range got.Pairs {
			if p.Left != names[want[i].Left] || p.Right != names[want[i].Right] {
				t.Errorf("%+v, want %s and %s", p, names[want[i].Left], names[want[i].Right])
			}
		}
	}
}

func TestGeometricPairsTolerance(t *testing.T) {
	sites := []layout.Site{{Name: "a", Position: r3.Vec{X: -40}}, {Name: "b", Position: r3.Vec{X: 43, Y: 4}},
		{Name: "c", Position: r3.Vec{X: 3, Z: 90}}, {Name: "d", Position: r3.Vec{X: 70}}}
	got, err := GeometricPairs(sites, 5)
	if err != nil || len(got.Pairs) != 1 || got.Pairs[0] != (SitePair{"a", "b", 5}) ||
		!slices.Equal(got.Unpaired, []string{"c", "d"}) {
		t.Errorf("%+v, %v", got, err)
	}
	if got, err = GeometricPairs(sites, 6); err != nil || !slices.Equal(got.Midline, []string{"c"}) {
		t.Errorf("%+v, %v", got, err)
	}
	for _, tolerance := range []float64{0, -1, math.NaN()} {
		if _, err := GeometricPairs(sites, tolerance); err == nil {
			t.Errorf("a tolerance of %g is taken", tolerance)
		}
	}
	if _, err := GeometricPairs(append(sites, sites[0]), 5); err == nil || !strings.Contains(err.Error(), "twice") {
		t.Errorf("a site given twice: %v", err)
	}
	if got, err := GeometricPairs(nil, 5); err != nil || len(got.Pairs) != 0 {
		t.Errorf("no sites: %+v, %v", got, err)
	}
}

func TestCompare(t *testing.T) {
	a := []layout.Site{{Name: "T3", Position: r3.Vec{X: -90}}, {Name: "Fz", Position: r3.Vec{Y: 90}},
		{Name: "Cz", Position: r3.Vec{Z: 90}}, {Name: "E1", Position: r3.Vec{Z: -90}},
		{Name: "Oz", Position: r3.Vec{Y: -90}}}
	b := []layout.Site{{Name: "E2", Position: r3.Vec{X: 90}}, {Name: "CZ", Position: r3.Vec{Z: 100}},
		{Name: "fz", Position: r3.Vec{Z: 90}},
		{Name: "T7", Position: geometry.Turned(r3.Vec{X: -90}, r3.Vec{Z: 0.1})},
		{Name: "Oz", Position: geometry.Turned(r3.Vec{Y: -90}, r3.Vec{X: -0.3})}}
	c, err := Compare(a, b)
	if err != nil {
		t.Fatal(err)
	}
	want := []SiteDistance{
		{"Fz", 90 * math.Pi / 2, 90 * math.Sqrt2, 0},
		{"Oz", 27, 180 * math.Sin(0.15), 0},
		{"T3", 9, 180 * math.Sin(0.05), 0},
		{"Cz", 0, 10, 10},
	}
	if len(c.Sites) != len(want) {
		t.Fatalf("%+v", c.Sites)
	}
	for i, w := range want {
		g := c.Sites[i]
		if g.Name != w.Name || math.Abs(g.Along-w.Along) > 1e-9 || math.Abs(g.Straight-w.Straight) > 1e-9 ||
			math.Abs(g.Radial-w.Radial) > 1e-9 {
			t.Errorf("%+v, want %+v", g, w)
		}
	}
	if !slices.Equal(c.OnlyA, []string{"E1"}) || !slices.Equal(c.OnlyB, []string{"E2"}) ||
		math.Abs(c.Median-18) > 1e-9 || c.Max != c.Sites[0].Along {
		t.Errorf("%+v", c)
	}
	if _, err := Compare(a, b[:1]); err == nil || !strings.Contains(err.Error(), "no site in common") {
		t.Errorf("nothing in common: %v", err)
	}
	if _, err := Compare(a, append(b, b[0])); err == nil {
		t.Error("a site given twice is taken")
	}
}
