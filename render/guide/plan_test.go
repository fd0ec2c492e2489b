package guide

import (
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"calotte/layout"
	"calotte/layout/head"
)

func names(marks []*mark) string {
	var list []string
	for _, m := range marks {
		list = append(list, string(m.name))
	}
	return strings.Join(list, " ")
}

func TestOrderOfWork(t *testing.T) {
	for _, c := range []struct {
		posture Posture
		want    string
	}{
		{Sitting, "Fz Cz Pz T7 C3 C4 T8 Fp1 F7 P7 O1 Fp2 F8 P8 O2 F3 F4 P3 P4"},
		{Lying, "O1 O2 Fz Cz Pz T7 C3 C4 T8 Fp1 F7 P7 Fp2 F8 P8 F3 F4 P3 P4"},
	} {
		p := planOf(t, someHead, Options{Posture: c.posture})
		if got := names(p.order); got != c.want {
			t.Errorf("%v: the order is %s, want %s", c.posture, got, c.want)
		}
		for i, m := range p.order {
			if m.number != i+1 {
				t.Errorf("%s has the number %d, want %d", m.name, m.number, i+1)
			}
		}
	}
}

// The marks that a few sites need are added, as marks without electrode.
func TestHelpers(t *testing.T) {
	p := planOf(t, someHead, Options{Sites: []layout.Name{"FC3"}})
	for _, n := range []layout.Name{"FT7", "FCz", "FT8", "Fpz", "T7", "Oz", "Cz"} {
		if m := p.byName[n]; m == nil || m.electrode || m.number != 0 {
			t.Errorf("%s is no mark without electrode: %+v", n, m)
		}
	}
	if got := len(p.byName["FC3"].crossings); got != crossingMarks {
		t.Errorf("FC3 has %d crossing distances", got)
	}
}

func TestBackOfTheHead(t *testing.T) {
	for _, h := range []head.Head{heads[0], heads[3], heads[4]} { // small, wide, a sphere
		backOfTheHead(t, planOf(t, h, Options{Sites: layout.Set1010(), Posture: Headrest}))
	}
}

func backOfTheHead(t *testing.T, p *plan) {
	t.Helper()
	var rests []*mark
	for _, m := range p.marks {
		if m.rests {
			rests = append(rests, m)
		}
	}
	want := "POz Oz Iz PO7 O1 PO8 O2 PO9 PO5 PO3 PO1 PO2 PO4 PO6 PO10 I1 I2"
	got := strings.Fields(names(rests))
	slices.Sort(got)
	sorted := strings.Fields(want)
	slices.Sort(sorted)
	if !slices.Equal(got, sorted) {
		t.Errorf("the head rests on %s, want %s", got, sorted)
	}
}

// Distances on the sphere of 560 mm, from the shared definitions, section 1.
func TestCrossingDistancesOnTheSphere(t *testing.T) {
	p := planOf(t, head.Head{Circumference: 560}, Options{})
	want := map[layout.Name]float64{"F7": 52.3, "Fz": 52.3, "Fp1": 56.3, "C3": 65.9}
	for _, c := range p.byName["F3"].crossings {
		if math.Abs(c.distance-want[c.from]) > .05 {
			t.Errorf("F3 lies %.2f mm from %s, want %.1f", c.distance, c.from, want[c.from])
		}
	}
}

// Three crossing distances must place a site: from marks on its side or the
// midline, never all in one line, and mirrored for its partner.
func TestCrossingsPlaceTheSite(t *testing.T) {
	for _, h := range heads[:6] {
		p := planOf(t, h, Options{Sites: layout.Set1010()})
		for _, m := range p.aside() {
			var from []*mark
			for _, c := range m.crossings {
				k := p.byName[c.from]
				from = append(from, k)
				if k.Position.X*m.Position.X < 0 && math.Abs(k.Position.X) > 1 {
					t.Errorf("%s is measured from %s on the other side", m.name, k.name)
				}
				if !slices.Contains(straightArcs, k.Arc) {
					t.Errorf("%s is measured from %s, which is no sooner marked", m.name, k.name)
				}
				twin := p.byName[m.name.Mirror()]
				if !slices.ContainsFunc(twin.crossings,
					func(x crossing) bool { return x.from == c.from.Mirror() }) {
					t.Errorf("%s is measured from %s, %s not from its mirror image", m.name, c.from,
						twin.name)
				}
			}
			// 1 mm of error in each distance may not become more
			// than 2 mm.
			if u := math.Sqrt(uncertainty(m.Position, from)); !(u < 2.2) {
				t.Errorf("%s: crossing %s is uncertain by %.1f mm", h.Wearer, m.name, u)
			}
		}
	}
}

// What the blank guide says an error of the inion costs is what the rule gives.
func TestInionError(t *testing.T) {
	low := someHead
	low.NasionInion += inionError
	a, b := planOf(t, someHead, Options{}), planOf(t, low, Options{})
	for i, n := range []layout.Name{"Fpz", "Fz", "Cz", "Pz", "Oz"} {
		if got, want := b.byName[n].Distance-a.byName[n].Distance, float64(2*i+1); math.Abs(got-want) > 1e-9 {
			t.Errorf("%s moves by %g mm, want %g", n, got, want)
		}
	}
}

func TestCapFor(t *testing.T) {
	lab := []Cap{{"S", 520, 560}, {"M", 560, 600}}
	for _, c := range []struct {
		around, widest float64
		caps           []Cap
		want           string
		lab, ok        bool
	}{
		{560, 0, nil, "54–58", false, true},
		{580, 0, nil, "58–62", false, true},
		{560, 585, nil, "58–62", false, true},
		{559.9, 0, lab, "S", true, true},
		{560, 0, lab, "M", true, true},
		{640, 0, lab, "", true, false},
	} {
		b := &book{o: &Options{Caps: c.caps}, visit: head.Visit{Widest: c.widest}}
		got, lab, ok := b.capFor(&plan{head: head.Head{Circumference: c.around}})
		if got.Name != c.want || lab != c.lab || ok != c.ok {
			t.Errorf("%g mm, widest %g: got %q, %v, %v", c.around, c.widest, got.Name, lab, ok)
		}
	}
}

// Behind the wearer, the wearer's left is on the left of the page and the nose
// at the top; from the front it is all the other way.
func TestHeadView(t *testing.T) {
	p := planOf(t, someHead, Options{Sites: layout.Set1010()})
	center := r2.Vec{X: 100, Y: 150}
	for _, stand := range []Stand{Behind, Front} {
		v := newHeadView(p, center, 80, stand)
		sign := 1.
		if stand == Front {
			sign = -1
		}
		for n, want := range map[layout.Name]r2.Vec{"T9": {X: -v.right}, "T10": {X: v.right}, "Nz": {Y: -80},
			"Iz": {Y: 80}, "Cz": {}} {
			got := r2.Scale(sign, r2.Sub(v.mark(p.byName[n]), center))
			if r2.Norm(r2.Sub(got, want)) > .5 {
				t.Errorf("%v: %s lies at %.1f from the middle, want %.1f", stand, n, got, want)
			}
		}
		for _, m := range p.marks {
			if d := r2.Sub(v.mark(m), center); math.Abs(d.X) > v.right+.5 || math.Abs(d.Y) > v.long+.5 {
				t.Errorf("%v: %s lies outside the head at %.1f", stand, m.name, d)
			}
		}
	}
}

// Any tape across the fan is divided in proportion by its lines.
func TestFanDividesAnyTape(t *testing.T) {
	f := fanOn(newPage(Letter, 1, ""), 30)
	for d := fanLeast; d <= fanMost; d += 7.3 {
		start := f.at(d, 0)
		if got := r2.Norm(r2.Sub(f.at(d, 1), start)); math.Abs(got-d) > 1e-9 {
			t.Errorf("at %.1f mm the outer lines are %.3f mm apart", d, got)
		}
		for _, s := range fanShares {
			// On the line that is drawn from end to end, and on the
			// tape.
			a, b := f.at(fanLeast, s.share), f.at(fanMost, s.share)
			k := (start.X - a.X) / (b.X - a.X)
			if got := a.Y + k*(b.Y-a.Y) - start.Y; math.Abs(got-s.share*d) > 1e-9 {
				t.Errorf("a tape of %.1f mm is divided at %.3f mm, want %.3f", d, got, s.share*d)
			}
		}
	}
}
