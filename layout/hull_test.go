package layout_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/layout/head"
)

// towards is the direction at an angle from the vertex, in degrees, and an
// azimuth counter-clockwise from the right ear.
func towards(fromVertex, azimuth float64) r3.Vec {
	sin, cos := math.Sincos(fromVertex * math.Pi / 180)
	y, x := math.Sincos(azimuth * math.Pi / 180)
	return r3.Vec{X: sin * x, Y: sin * y, Z: cos}
}

func ring(fromVertex float64, azimuths ...float64) []r3.Vec {
	var places []r3.Vec
	for _, a := range azimuths {
		places = append(places, towards(fromVertex, a))
	}
	return places
}

func hull(t testing.TB, positions []r3.Vec) *layout.Hull {
	t.Helper()
	h, err := layout.NewHull(positions)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// The angles follow from spherical trigonometry: the middle of the arc between
// two sites at polar angle θ and azimuths 2δ apart lies at atan(tan θ cos δ).
func TestOutsideByHand(t *testing.T) {
	middle := func(theta, delta float64) float64 {
		y, x := math.Sincos(theta * math.Pi / 180)
		return math.Atan2(y*math.Cos(delta*math.Pi/180), x) * 180 / math.Pi
	}
	corner := math.Acos(r3.Dot(towards(85, 10), towards(70, 0))) * 180 / math.Pi
	square := ring(60, 45, 135, 225, 315)
	for _, c := range []struct {
		name    string
		sites   []r3.Vec
		at      r3.Vec
		degrees float64
	}{
		{"above four on a circle", square, towards(0, 0), 0},
		{"on their rim", square, towards(middle(60, 45), 90), 0},
		{"beyond the middle of their rim", square, towards(middle(60, 45)+7, 90), 7},
		{"beyond a corner", square, towards(75, 45), 15},
		{"under them", square, towards(180, 0), 120},
		{"three and one in the middle", append(ring(50, 0, 120, 240), towards(0, 0)), towards(20, 60), 0},
		{"a ring, across its middle", append(ring(90, 0, 90, 180, 270), towards(0, 0)), towards(89, 45), 0},
		{"below a ring", append(ring(90, 0, 90, 180, 270), towards(0, 0)), towards(103, 45), 13},
		{"a low ring's open base", append(ring(110, 0, 60, 120, 180, 240, 300), towards(0, 0)),
			towards(180, 0), 180 - middle(110, 30)},
		{"the far side of a patch at an ear", append(ring(95, 0, 20), ring(70, 0, 20)...), towards(95, 190),
			180 - corner},
	} {
		got := hull(t, c.sites).Outside(r3.Scale(90, c.at)) * 180 / math.Pi
		if math.Abs(got-c.degrees) > 1e-6 {
			t.Errorf("%s: %.9f° outside, want %.9f°", c.name, got, c.degrees)
		}
	}
}

// However four sites on one circle are listed, what lies between them is the
// same.
func TestOrderOfSitesDoesNotMatter(t *testing.T) {
	sets := map[string][]r3.Vec{
		"four on a circle": ring(60, 45, 135, 225, 315),
		"eight on two":     append(ring(40, 0, 90, 180, 270), ring(80, 0, 90, 180, 270)...),
		"on one side":      append(ring(80, 10, 50), ring(100, 10, 50)...),
	}
	random := rand.New(rand.NewPCG(5, 1))
	for name, sites := range sets {
		want := hull(t, sites)
		for range 24 {
			shuffled := slices.Clone(sites)
			random.Shuffle(len(sites),
				func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
			h := hull(t, shuffled)
			for range 200 {
				p := towards(180*random.Float64(), 360*random.Float64())
				if a, b := h.Outside(p), want.Outside(p); math.Abs(a-b) > 1e-9 {
					t.Fatalf("%s: %v is %g outside in one order, %g in another", name, p, a, b)
				}
			}
		}
	}
}

// Sites of the standard sets: between them the vertex and C1h, outside of them
// the neck; and where three lines of a set cross, nothing is missing.
func TestHullOfStandardSets(t *testing.T) {
	eight := []layout.Name{"F3", "F4", "C3", "C4", "P3", "P4", "O1", "O2"}
	four := []layout.Name{"F3", "F4", "P3", "P4"}
	for _, set := range [][]layout.Name{four, eight, layout.Set1020(), layout.Set1010(), layout.Set1005()} {
		t.Run(fmt.Sprint(len(set)), func(t *testing.T) {
			h := hull(t, placed(t, set))
			for _, p := range ring(20, 0, 45, 90, 135, 180, 225, 270, 315) {
				if d := h.Outside(p); d != 0 {
					t.Errorf("%v is %g outside", p, d)
				}
			}
			for _, site := range placed(t, set) {
				if d := h.Outside(site); d > 1e-12 {
					t.Errorf("a site is %g outside of the sites", d)
				}
			}
			if d := h.Outside(r3.Vec{Z: -1}); d < 1 {
				t.Errorf("the neck is only %g outside", d)
			}
		})
	}
}

func placed(t testing.TB, set []layout.Name) []r3.Vec {
	t.Helper()
	placements, err := layout.Place(head.Sphere(1), set)
	if err != nil {
		t.Fatal(err)
	}
	var positions []r3.Vec
	for _, s := range layout.Sites(placements) {
		positions = append(positions, s.Position)
	}
	return positions
}

// Between the sites of a facet nothing is outside; no place is farther outside
// than the nearest site is away; and the facets are all the triangles that no
// site lies beyond, if the head's centre is behind them and their circle's
// middle not over the base.
func TestHullProperties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(4, 24).Draw(rt, "n")
		seed := rapid.Uint64().Draw(rt, "seed")
		random := rand.New(rand.NewPCG(seed, 1))
		var sites []r3.Vec
		for range n {
			sites = append(sites, towards(120*math.Sqrt(random.Float64()), 360*random.Float64()))
		}
		h, err := layout.NewHull(sites)
		if err != nil {
			rt.Skip(err)
		}
		for _, f := range h.Facets() {
			a, b, c := sites[f[0]], sites[f[1]], sites[f[2]]
			p := r3.Add(a, r3.Add(r3.Scale(3*random.Float64(), b), r3.Scale(3*random.Float64(), c)))
			if d := h.Outside(p); d > 1e-9 {
				rt.Errorf("a place above the facet %v is %g outside", f, d)
			}
		}
		if want := outermost(sites); len(h.Facets()) != want {
			rt.Errorf("%d facets, want %d", len(h.Facets()), want)
		}
		for range 50 {
			p := towards(180*random.Float64(), 360*random.Float64())
			nearest := math.Pi
			for _, s := range sites {
				nearest = min(nearest, math.Acos(max(-1, min(1, r3.Dot(p, s)))))
			}
			if d := h.Outside(p); d < 0 || d > nearest+1e-7 {
				rt.Errorf("%v is %g outside, though a site is %g away", p, d, nearest)
			}
		}
	})
}

// outermost counts the triangles by trying all of them.
func outermost(sites []r3.Vec) int {
	lowest := -math.Sqrt2 / 2 // the middle of a circle over the base is lower
	count := 0
	for i, a := range sites {
		for j, b := range sites {
			for k, c := range sites {
				if i >= j || i >= k || j == k { // each of the two ways round once
					continue
				}
				normal := r3.Unit(r3.Cross(r3.Sub(b, a), r3.Sub(c, a)))
				beyond := func(s r3.Vec) bool { return r3.Dot(normal, r3.Sub(s, a)) > 1e-9 }
				if normal.Z >= lowest && r3.Dot(normal, a) > 1e-9 && !slices.ContainsFunc(sites,
					beyond) {
					count++
				}
			}
		}
	}
	return count
}

func TestHullRefusals(t *testing.T) {
	for _, c := range []struct {
		sites []r3.Vec
		want  string
	}{
		{ring(60, 0, 120, 240), "3 sites: what lies between them needs four or more"},
		{append(ring(60, 0, 120, 240), towards(60, 120)), "sites 2 and 4 are at one place"},
	} {
		if _, err := layout.NewHull(c.sites); err == nil || err.Error() != c.want {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
}

// 4 ms where this was written.
func BenchmarkHull(b *testing.B) {
	positions := placed(b, layout.Set1005())
	for b.Loop() {
		hull(b, positions)
	}
}
