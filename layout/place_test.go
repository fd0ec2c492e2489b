package layout_test

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/layout/internal/headtest"
)

func models(t testing.TB) map[string]head.Ellipsoid {
	return map[string]head.Ellipsoid{"sphere": head.Sphere(head.Default().Radius()),
		"ellipsoid": headtest.Measured(t)}
}

// Computed apart from this package while the method was written down, on the
// unit sphere, to six decimals.
func TestPlaceOnUnitSphere(t *testing.T) {
	for name, want := range map[layout.Name]r3.Vec{
		"F3":  {X: -0.540543, Y: 0.672982, Z: 0.504884},
		"AF3": {X: -0.355363, Y: 0.892445, Z: 0.277955},
		"FC3": {X: -0.663982, Y: 0.361221, Z: 0.654712},
		"F5":  {X: -0.721713, Y: 0.634479, Z: 0.276708},
		"TP9": {X: -0.878662, Y: -0.285494, Z: -0.382683},
	} {
		got := headtest.Place(t, head.Sphere(1), name)[0].Position
		if headtest.Apart(got, want) > math.Sqrt(3)*0.5e-6 {
			t.Errorf("%s at %.6f, want %.6f", name, got, want)
		}
	}
}

// The reference is testdata/layout/sites.tsv: plane sections integrated by
// scipy's quad and divided by its brentq.
func TestPlaceAgainstQuadrature(t *testing.T) {
	f, err := os.Open("../testdata/layout/sites.tsv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	heads := models(t)
	compared := map[string]int{}
	worst := 0.0
	lines := bufio.NewScanner(f)
	lines.Scan()
	for lines.Scan() {
		head, row, _ := strings.Cut(lines.Text(), "\t")
		var name layout.Name
		var want r3.Vec
		if _, err := fmt.Sscanf(row, "%s\t%g\t%g\t%g", &name, &want.X, &want.Y, &want.Z); err != nil {
			t.Fatalf("%q: %v", lines.Text(), err)
		}
		e := heads[head]
		got := r3.Vec{X: e.Right, Y: e.Front, Z: e.Up}
		if name != "axes" {
			got = headtest.Place(t, e, name)[0].Position
			compared[head]++
		}
		d := headtest.Apart(got, want)
		worst = max(worst, d)
		if d > 1e-9 {
			t.Errorf("%s %s at %.10f, want %.10f", head, name, got, want)
		}
	}
	if want := len(layout.Set1005()); compared["sphere"] != want || compared["ellipsoid"] != want {
		t.Errorf("compared %v sites, want %d on each head", compared, want)
	}
	t.Logf("largest distance from quadrature: %.2g mm", worst)
}

func TestSitesLieOnTheSurfaceApartAndMirrored(t *testing.T) {
	for head, e := range models(t) {
		at := headtest.Positions(t, e, layout.Set1005()...)
		if len(at) != 345 {
			t.Errorf("%s: %d sites, want 345", head, len(at))
		}
		for n, p := range at {
			if off := math.Abs(r3.Norm(e.ToUnit(p)) - 1); off > 1e-14 {
				t.Errorf("%s: %s is %g off the surface", head, n, off)
			}
			m := at[n.Mirror()]
			if d := headtest.Apart(p, r3.Vec{X: -m.X, Y: m.Y, Z: m.Z}); d > 1e-11 {
				t.Errorf("%s: %s and %s are %g mm from mirroring", head, n, n.Mirror(), d)
			}
			for other, q := range at {
				if d := headtest.Apart(p, q); n < other && d < 4 {
					t.Errorf("%s: %s and %s are %g mm apart", head, n, other, d)
				}
			}
		}
	}
}

func TestRulesAgreeOnSharedSites(t *testing.T) {
	for head, e := range models(t) {
		shared := 0
		for _, r := range layout.Rules() {
			arc, err := r.Section(e)
			if err != nil {
				t.Fatal(err)
			}
			for step, n := range r.Sites {
				first := headtest.Place(t, e, n)[0]
				if first.Arc == r.Arc() {
					continue
				}
				shared++
				if p, _ := layout.MarkOn(r, step, arc); headtest.Apart(p, first.Position) > 1e-10 {
					t.Errorf("%s: %s is at %v by %s and at %v by %s", head, n, p, r.Arc(),
						first.Position,
						first.Arc)
				}
			}
		}
		// Cz, and the three points of each of 6 half rings and 14
		// coronal rows.
		if shared != 61 {
			t.Errorf("%s: %d sites are given again, want 61", head, shared)
		}
	}
}

// Klem et al. (1999): 10, 20, 20, 20, 20 and 10 % of the arc, worked there in
// cm.
func TestHandbookMidline(t *testing.T) {
	e, err := head.Head{Circumference: 560, NasionInion: 360, EarEar: 345}.Model()
	if err != nil {
		t.Fatal(err)
	}
	for n, want := range map[layout.Name]float64{"Fpz": 36, "Fz": 108, "Cz": 180, "Pz": 252, "Oz": 324} {
		p := headtest.Place(t, e, n)[0]
		if p.From != "Nz" || p.Arc != "Nz-Cz-Iz" || math.Abs(p.Distance-want) > 1e-9 {
			t.Errorf("%s: %g mm from %s on %s, want %g from Nz on Nz-Cz-Iz", n, p.Distance, p.From, p.Arc,
				want)
		}
	}
}

func TestRingIsDividedAsByTape(t *testing.T) {
	for head, e := range models(t) {
		for n, share := range map[layout.Name]float64{
			"Fp1": 0.05, "F7": 0.15, "T7": 0.25, "P7": 0.35, "O1": 0.45,
			"Fp2": 0.05, "F8": 0.15, "T8": 0.25, "P8": 0.35, "O2": 0.45,
		} {
			at := headtest.Place(t, e, n, "Fpz")
			// T7 and T8 are marked on the arc from ear to ear.
			if n != "T7" && n != "T8" {
				if got := at[0].Distance; math.Abs(got-share*560) > 1e-9 {
					t.Errorf("%s: %s is %g mm from %s, want %g", head, n, got, at[0].From,
						share*560)
				}
			}
			if z := at[0].Position.Z; math.Abs(z) > 1e-11 {
				t.Errorf("%s: %s is %g mm from the ring's plane", head, n, z)
			}
		}
	}
}

// Distances over the sphere of 560 mm to one decimal, computed apart from this
// package while the method was written down.
func TestDistancesBetweenSites(t *testing.T) {
	r := head.Default().Radius()
	at := headtest.Positions(t, head.Sphere(r), "Fp1", "F7", "F3", "Fz", "C3")
	over := func(p, q r3.Vec) float64 { return r * math.Acos(r3.Cos(p, q)) }
	for _, c := range []struct {
		from, to layout.Name
		want     float64
	}{{"F3", "F7", 52.3}, {"F3", "Fz", 52.3}, {"Fp1", "F3", 56.3}, {"F3", "C3", 65.9}} {
		if got := over(at[c.from], at[c.to]); math.Abs(got-c.want) > 0.05 {
			t.Errorf("%s to %s: %.2f mm, want %.1f", c.from, c.to, got, c.want)
		}
	}
	straight := r3.Scale(r, r3.Unit(r3.Add(at["F7"], at["Fz"])))
	if got := over(straight, at["F3"]); math.Abs(got-12.6) > 0.05 {
		t.Errorf("a straight tape puts F3 %.2f mm off, want 12.6", got)
	}
}

func TestPlaceRefuses(t *testing.T) {
	for _, c := range []struct {
		list []layout.Name
		want string
	}{
		{[]layout.Name{"Cz", "A1"},
			`earlobe "A1" is not on the head model: leave it out of the sites to place`},
		{[]layout.Name{"M2"}, `mastoid "M2" is not on the head model: leave it out of the sites to place`},
		{[]layout.Name{"Cz", "Pz", "Cz"}, `site "Cz" is given twice: keep one`},
		{[]layout.Name{"T3"}, `site "T3" is not in the guideline's spelling: parse it first`},
		{[]layout.Name{"Czz"}, `unknown site "Czz": nearest known: Cz, CPz`},
	} {
		if _, err := layout.Place(head.Sphere(90), c.list); err == nil || err.Error() != c.want {
			t.Errorf("%v: error %v, want %s", c.list, err, c.want)
		}
	}
}

func TestLandmarksArePlaced(t *testing.T) {
	e := headtest.Measured(t)
	l := e.Landmarks()
	at := headtest.Positions(t, e, "LPA", "RPA", "Nz", "Iz", "T9", "Cz")
	for n, want := range map[layout.Name]r3.Vec{
		"LPA": l.LeftPreauricular, "RPA": l.RightPreauricular, "T9": l.LeftPreauricular,
		"Nz": l.Nasion, "Iz": l.Inion, "Cz": l.Vertex,
	} {
		if headtest.Apart(at[n], want) > 1e-11 {
			t.Errorf("%s at %v, want %v", n, at[n], want)
		}
	}
}

func BenchmarkPlace1005(b *testing.B) {
	e, set := headtest.Measured(b), layout.Set1005()
	for b.Loop() {
		if _, err := layout.Place(e, set); err != nil {
			b.Fatal(err)
		}
	}
}
