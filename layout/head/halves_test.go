package head_test

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/layout/internal/headtest"
)

// uneven is the head of the stored reference.
func uneven(t testing.TB) head.TwoHalves {
	t.Helper()
	s, err := head.Head{NasionInion: 365, Halves: head.Halves{287, 275, 176, 171}}.Surface()
	if err != nil {
		t.Fatal(err)
	}
	return s.(head.TwoHalves)
}

// The reference is testdata/layout/halves.tsv: scipy's quad, brentq and fsolve.
func TestHalvesAgainstQuadrature(t *testing.T) {
	f, err := os.Open("../../testdata/layout/halves.tsv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	h := uneven(t)
	lines := bufio.NewScanner(f)
	lines.Scan()
	compared, worst := 0, 0.0
	for lines.Scan() {
		name, row, _ := strings.Cut(lines.Text(), "\t")
		var want, got r3.Vec
		if _, err := fmt.Sscanf(row, "%g\t%g\t%g", &want.X, &want.Y, &want.Z); err != nil {
			t.Fatalf("%q: %v", lines.Text(), err)
		}
		switch name {
		case "axes":
			got = r3.Vec{X: h.Left.Right, Y: h.Right.Right, Z: h.Left.Front}
		case "up and tilt":
			got = r3.Vec{X: h.Left.Up, Y: h.Tilt}
		default:
			got = headtest.Place(t, h, layout.Name(name))[0].Position
		}
		compared++
		worst = max(worst, headtest.Apart(got, want))
	}
	if compared != 15 || worst > 1e-8 {
		t.Errorf("worst of %d is %.2g mm off, want 15 within 1e-8", compared, worst)
	}
	t.Logf("worst of %d: %.2g mm", compared, worst)
}

func TestEqualHalvesAreTheEllipsoid(t *testing.T) {
	s, err := head.Head{Circumference: 560, NasionInion: 365, EarEar: 340,
		Halves: head.Halves{280, 280, 170, 170}}.Surface()
	if err != nil {
		t.Fatal(err)
	}
	if d := headtest.Worst(t, s, headtest.Measured(t)); d > 1e-9 {
		t.Errorf("a site is %g mm off", d)
	}
}

// anyHalves draws heads whose sides differ by up to a tenth.
func anyHalves(t *rapid.T) head.Head {
	around := rapid.Float64Range(330, 650).Draw(t, "circumference")
	share := rapid.Float64Range(0.47, 0.53)
	ring, ear := share.Draw(t, "ring"), share.Draw(t, "ear")
	return head.Head{NasionInion: 0.64 * around, Halves: head.Halves{
		LeftRing: ring * around, RightRing: (1 - ring) * around,
		LeftEar: ear * 0.62 * around, RightEar: (1 - ear) * 0.62 * around,
	}}
}

func TestHalvesKeepTheMeasures(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := anyHalves(t)
		s, err := h.Surface()
		if err != nil {
			t.Fatalf("%+v: %v", h, err)
		}
		at := map[string]layout.Arc{}
		for _, r := range layout.Rules()[:4] {
			if at[r.Arc()], err = r.Section(s); err != nil {
				t.Fatal(err)
			}
		}
		left, right := at["LPA-Cz-RPA"].Parts()
		for _, c := range []struct {
			what      string
			got, want float64
		}{
			{"left half ring", at["Fpz-T7-Oz"].Length(), h.Halves.LeftRing},
			{"right half ring", at["Fpz-T8-Oz"].Length(), h.Halves.RightRing},
			{"nasion-inion arc", at["Nz-Cz-Iz"].Length(), h.NasionInion},
			{"left half ear arc", left.Length(), h.Halves.LeftEar},
			{"right half ear arc", right.Length(), h.Halves.RightEar},
		} {
			if math.Abs(c.got-c.want) > 1e-8 {
				t.Errorf("%+v: %s of the model is %g mm", h, c.what, c.got)
			}
		}
	})
}

// Exchanging the sides of the head mirrors all sites; every site lies on its
// own side and each half of every row is divided evenly.
func TestHalvesMirror(t *testing.T) {
	h := uneven(t)
	other, err := head.Head{NasionInion: 365, Halves: head.Halves{275, 287, 171, 176}}.Surface()
	if err != nil {
		t.Fatal(err)
	}
	at, mirrored := headtest.Positions(t, h, layout.Set1005()...), headtest.Positions(t, other, layout.Set1005()...)
	for n, p := range at {
		m := mirrored[n.Mirror()]
		if d := headtest.Apart(p, r3.Vec{X: -m.X, Y: m.Y, Z: m.Z}); d > 1e-9 {
			t.Errorf("%s is %g mm from where the exchanged head has %s", n, d, n.Mirror())
		}
		if off := math.Abs(r3.Norm(h.Side(p).ToUnit(p)) - 1); off > 1e-12 {
			t.Errorf("%s is %g off the surface", n, off)
		}
	}
	for _, r := range layout.Rules()[8:] {
		arc, err := r.Section(h)
		if err != nil {
			t.Fatal(err)
		}
		before, after := arc.Parts()
		quarter := len(r.Sites) / 4
		for i, want := range map[int]r3.Vec{quarter: before.At(0.5), 3 * quarter: after.At(0.5)} {
			if d := headtest.Apart(at[r.Sites[i]], want); d > 1e-9 {
				t.Errorf("%s is %g mm from the middle of its half of %s", r.Sites[i], d, r.Arc())
			}
		}
	}
}

// An arc over the midline has no bend there: the directions before and after
// differ by as little as the arc turns on the way.
func TestHalvesMeetWithoutBend(t *testing.T) {
	h := uneven(t)
	for _, r := range append(layout.Rules()[1:2], layout.Rules()[8:]...) {
		arc, err := r.Section(h)
		if err != nil {
			t.Fatal(err)
		}
		before, after := arc.Parts()
		const step = 1e-4
		a := r3.Sub(before.At(1), before.At(1-step))
		b := r3.Sub(after.At(step), after.At(0))
		if angle := math.Acos(min(1, r3.Cos(a, b))); angle > 1e-3 {
			t.Errorf("%s bends by %g rad over the midline", r.Arc(), angle)
		}
		if d := headtest.Apart(arc.At(before.Length()/arc.Length()), before.At(1)); d > 1e-9 {
			t.Errorf("%s: the middle is %g mm from the end of the first part", r.Arc(), d)
		}
		if d := headtest.Apart(arc.At(1), after.At(1)); d > 1e-9 {
			t.Errorf("%s: the end is %g mm from the end of the second part", r.Arc(), d)
		}
	}
}

func TestHalvesSectionRefuses(t *testing.T) {
	h := uneven(t)
	at := headtest.Positions(t, h, "F3", "Fz", "F4", "C3", "C4")
	for _, c := range []struct {
		points [3]r3.Vec
		want   string
	}{
		{[3]r3.Vec{at["F3"], at["C3"], at["F4"]}, "crosses the midline, but not at the middle point"},
		{[3]r3.Vec{at["F3"], at["Fz"], r3.Scale(1.1, at["F4"])}, "point 3 is not on the head"},
		{[3]r3.Vec{at["F4"], at["C4"], at["F4"]}, "two points are the same"},
	} {
		if _, err := h.Section(c.points[0], c.points[1], c.points[2]); err == nil ||
			!strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: %v, want %s", c.points, err, c.want)
		}
	}
}

func TestCheckHalves(t *testing.T) {
	for _, c := range []struct {
		head head.Head
		want string
	}{
		{head.Head{NasionInion: 365, Halves: head.Halves{283, 277, 172, 168}}, ""},
		{head.Head{NasionInion: 365, EarEar: 340, Halves: head.Halves{LeftRing: 283, RightRing: 277}}, ""},
		{head.Head{Circumference: 560, NasionInion: 365, Halves: head.Halves{LeftEar: 172, RightEar: 168}}, ""},
		{head.Head{NasionInion: 365, Halves: head.Halves{287, 275, 172, 168}},
			"the half rings differ by 12 mm (left 287, right 275 mm): measure both"},
		{head.Head{NasionInion: 365, Halves: head.Halves{283, 277, 162, 178}},
			"the half ear arcs differ by 16 mm"},
		{head.Head{Circumference: 572, NasionInion: 365, Halves: head.Halves{283, 277, 172, 168}},
			"the half rings add up to 560 mm, the circumference is 572 mm"},
		{head.Head{NasionInion: 365, Halves: head.Halves{LeftRing: 283, LeftEar: 172, RightEar: 168}},
			"error: circumference 283 mm"},
		{head.Head{Circumference: 560, NasionInion: 365, EarEar: 340, Halves: head.Halves{LeftRing: 283}},
			"error: right half ring is missing"},
		{head.Head{NasionInion: 365, Halves: head.Halves{28.3, 277, 172, 168}}, "error: "},
		{head.Head{NasionInion: 365, Halves: head.Halves{LeftRing: 283, RightRing: 277}},
			"error: ear-to-ear arc is missing"},
		{head.Head{Halves: head.Halves{283, 277, 172, 168}}, "error: nasion-inion arc is missing"},
		{head.Head{NasionInion: 365, Halves: head.Halves{330, 230, 172, 168}},
			"error: left half ring 330 mm does not fit the other two measures"},
		{head.Head{Circumference: 560, NasionInion: 365, EarEar: 340, Halves: head.Halves{283, 277, -170, 510}},
			"error: left half ear arc -170 mm is not a head's"},
	} {
		warnings, err := c.head.Check()
		got := strings.Join(warnings, "; ")
		if err != nil {
			got = "error: " + err.Error()
		}
		if !strings.HasPrefix(got, c.want) || (c.want == "") != (got == "") {
			t.Errorf("%+v: %q, want %q", c.head, got, c.want)
		}
		if _, failed := c.head.Surface(); (failed == nil) != (err == nil) {
			t.Errorf("%+v: check %v, surface %v", c.head, err, failed)
		}
	}
}
