package layout

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// measured is the ellipsoid of the stored reference.
func measured(t testing.TB) Ellipsoid {
	t.Helper()
	e, err := Head{Circumference: 560, NasionInion: 365, EarEar: 340}.Model()
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func models(t testing.TB) map[string]Ellipsoid {
	return map[string]Ellipsoid{"sphere": Sphere(DefaultHead().Radius()), "ellipsoid": measured(t)}
}

func mustPlace(t testing.TB, s Surface, list ...Name) []Placement {
	t.Helper()
	placements, err := Place(s, list)
	if err != nil {
		t.Fatal(err)
	}
	return placements
}

func positions(t testing.TB, s Surface, list ...Name) map[Name]r3.Vec {
	at := make(map[Name]r3.Vec)
	for _, p := range mustPlace(t, s, list...) {
		at[Name(p.Name)] = p.Position
	}
	return at
}

func apart(p, q r3.Vec) float64 { return r3.Norm(r3.Sub(p, q)) }

// Computed apart from this package while the method was written down, on the
// unit sphere, to six decimals.
func TestPlaceOnUnitSphere(t *testing.T) {
	for name, want := range map[Name]r3.Vec{
		"F3":  {X: -0.540543, Y: 0.672982, Z: 0.504884},
		"AF3": {X: -0.355363, Y: 0.892445, Z: 0.277955},
		"FC3": {X: -0.663982, Y: 0.361221, Z: 0.654712},
		"F5":  {X: -0.721713, Y: 0.634479, Z: 0.276708},
		"TP9": {X: -0.878662, Y: -0.285494, Z: -0.382683},
	} {
		got := mustPlace(t, Sphere(1), name)[0].Position
		if apart(got, want) > math.Sqrt(3)*0.5e-6 {
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
		var name Name
		var want r3.Vec
		if _, err := fmt.Sscanf(row, "%s\t%g\t%g\t%g", &name, &want.X, &want.Y, &want.Z); err != nil {
			t.Fatalf("%q: %v", lines.Text(), err)
		}
		e := heads[head]
		got := r3.Vec{X: e.Right, Y: e.Front, Z: e.Up}
		if name != "axes" {
			got = mustPlace(t, e, name)[0].Position
			compared[head]++
		}
		d := apart(got, want)
		worst = max(worst, d)
		if d > 1e-9 {
			t.Errorf("%s %s at %.10f, want %.10f", head, name, got, want)
		}
	}
	if want := len(Set1005()); compared["sphere"] != want || compared["ellipsoid"] != want {
		t.Errorf("compared %v sites, want %d on each head", compared, want)
	}
	t.Logf("largest distance from quadrature: %.2g mm", worst)
}

func TestSitesLieOnTheSurfaceApartAndMirrored(t *testing.T) {
	for head, e := range models(t) {
		at := positions(t, e, Set1005()...)
		if len(at) != 345 {
			t.Errorf("%s: %d sites, want 345", head, len(at))
		}
		for n, p := range at {
			if off := math.Abs(r3.Norm(e.toUnit(p)) - 1); off > 1e-14 {
				t.Errorf("%s: %s is %g off the surface", head, n, off)
			}
			m := at[n.Mirror()]
			if d := apart(p, r3.Vec{X: -m.X, Y: m.Y, Z: m.Z}); d > 1e-11 {
				t.Errorf("%s: %s and %s are %g mm from mirroring", head, n, n.Mirror(), d)
			}
			for other, q := range at {
				if d := apart(p, q); n < other && d < 4 {
					t.Errorf("%s: %s and %s are %g mm apart", head, n, other, d)
				}
			}
		}
	}
}

func TestRulesAgreeOnSharedSites(t *testing.T) {
	for head, e := range models(t) {
		shared := 0
		for _, r := range Rules() {
			arc, err := r.Section(e)
			if err != nil {
				t.Fatal(err)
			}
			for step, n := range r.Sites {
				first := mustPlace(t, e, n)[0]
				if first.Arc == r.Arc() {
					continue
				}
				shared++
				if p, _ := (mark{r, step}).on(arc); apart(p, first.Position) > 1e-10 {
					t.Errorf("%s: %s is at %v by %s and at %v by %s", head, n, p, r.Arc(), first.Position, first.Arc)
				}
			}
		}
		// Cz, and the three points of each of 6 half rings and 14 coronal rows.
		if shared != 61 {
			t.Errorf("%s: %d sites are given again, want 61", head, shared)
		}
	}
}

func TestRulesGiveTheWholeSystem(t *testing.T) {
	given := map[Name]bool{}
	for _, r := range Rules() {
		if len(r.Sites)%2 == 0 {
			t.Errorf("%s has %d steps: no site in its middle", r.Arc(), len(r.Sites))
		}
		for _, n := range r.Sites {
			given[n] = true
		}
	}
	for _, n := range Set1005() {
		if !given[n] {
			t.Errorf("no rule gives %s", n)
		}
		delete(given, n)
	}
	for n := range given {
		t.Errorf("the rules give %s, which is not a site", n)
	}
}

// The sets are made from the letters of each row; the rules list every name.
func TestRulesRunInTheOrderOfTheRows(t *testing.T) {
	table := Rules()
	coronal := append([]Rule{table[1]}, table[8:]...)
	for i, r := range rows {
		want := r.names([]string{"7", "7h", "5", "5h", "3", "3h", "1", "1h"})
		if !slices.ContainsFunc(coronal, func(c Rule) bool {
			beyond := (len(c.Sites) - len(want)) / 2 // the coronal arc begins at the ear
			return slices.Equal(c.Sites[beyond:len(c.Sites)-beyond], want)
		}) {
			t.Errorf("no rule gives the row %v", want)
		}
		lengthwise := append([]Rule{table[0]}, table[2:8]...)
		for j, number := range []string{"z", "7", "8", "9", "10", "9h", "10h"} {
			n := Name(r.temporal + number)
			if number == "z" {
				n = Name(r.medial + number)
			}
			// The first row, AFp, is the third step from the front.
			if got := lengthwise[j].Sites[i+3]; got != n {
				t.Errorf("%s has %s in the place of %s", lengthwise[j].Arc(), got, n)
			}
		}
	}
}

// Klem et al. (1999): 10, 20, 20, 20, 20 and 10 % of the arc, worked there in cm.
func TestHandbookMidline(t *testing.T) {
	e, err := Head{Circumference: 560, NasionInion: 360, EarEar: 345}.Model()
	if err != nil {
		t.Fatal(err)
	}
	for n, want := range map[Name]float64{"Fpz": 36, "Fz": 108, "Cz": 180, "Pz": 252, "Oz": 324} {
		p := mustPlace(t, e, n)[0]
		if p.From != "Nz" || p.Arc != "Nz-Cz-Iz" || math.Abs(p.Distance-want) > 1e-9 {
			t.Errorf("%s: %g mm from %s on %s, want %g from Nz on Nz-Cz-Iz", n, p.Distance, p.From, p.Arc, want)
		}
	}
}

func TestRingIsDividedAsByTape(t *testing.T) {
	for head, e := range models(t) {
		for n, share := range map[Name]float64{
			"Fp1": 0.05, "F7": 0.15, "T7": 0.25, "P7": 0.35, "O1": 0.45,
			"Fp2": 0.05, "F8": 0.15, "T8": 0.25, "P8": 0.35, "O2": 0.45,
		} {
			at := mustPlace(t, e, n, "Fpz")
			// T7 and T8 are marked on the arc from ear to ear.
			if n != "T7" && n != "T8" {
				if got := at[0].Distance; math.Abs(got-share*560) > 1e-9 {
					t.Errorf("%s: %s is %g mm from %s, want %g", head, n, got, at[0].From, share*560)
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
	r := DefaultHead().Radius()
	at := positions(t, Sphere(r), "Fp1", "F7", "F3", "Fz", "C3")
	over := func(p, q r3.Vec) float64 { return r * math.Acos(r3.Cos(p, q)) }
	for _, c := range []struct {
		from, to Name
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
		list []Name
		want string
	}{
		{[]Name{"Cz", "A1"}, `earlobe "A1" is not on the head model: leave it out of the sites to place`},
		{[]Name{"M2"}, `mastoid "M2" is not on the head model: leave it out of the sites to place`},
		{[]Name{"Cz", "Pz", "Cz"}, `site "Cz" is given twice: keep one`},
		{[]Name{"T3"}, `site "T3" is not in the guideline's spelling: parse it first`},
		{[]Name{"Czz"}, `unknown site "Czz": nearest known: Cz, CPz`},
	} {
		if _, err := Place(Sphere(90), c.list); err == nil || err.Error() != c.want {
			t.Errorf("%v: error %v, want %s", c.list, err, c.want)
		}
	}
}

func TestLandmarksArePlaced(t *testing.T) {
	e := measured(t)
	l := e.Landmarks()
	at := positions(t, e, "LPA", "RPA", "Nz", "Iz", "T9", "Cz")
	for n, want := range map[Name]r3.Vec{
		"LPA": l.LeftPreauricular, "RPA": l.RightPreauricular, "T9": l.LeftPreauricular,
		"Nz": l.Nasion, "Iz": l.Inion, "Cz": l.Vertex,
	} {
		if apart(at[n], want) > 1e-11 {
			t.Errorf("%s at %v, want %v", n, at[n], want)
		}
	}
}

func BenchmarkPlace1005(b *testing.B) {
	e, set := measured(b), Set1005()
	for b.Loop() {
		if _, err := Place(e, set); err != nil {
			b.Fatal(err)
		}
	}
}
