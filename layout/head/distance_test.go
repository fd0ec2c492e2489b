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

// The reference is testdata/layout/geodesics.tsv: GeographicLib's shortest
// paths and meridian arcs on ellipsoids of revolution; scipy's shortest
// polygons on a head, extrapolated to many corners.
func TestDistanceAgainstGeographicLib(t *testing.T) {
	f, err := os.Open("../../testdata/layout/geodesics.tsv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	tolerance := map[string]float64{"shortest": 1e-6, "meridian": 1e-6, "polygon": 2e-5}
	compared, worst := map[string]int{}, map[string]float64{}
	lines := bufio.NewScanner(f)
	lines.Scan()
	for lines.Scan() {
		what, row, _ := strings.Cut(lines.Text(), "\t")
		var e head.Ellipsoid
		var p, q r3.Vec
		var want, got float64
		if _, err := fmt.Sscan(row, &e.Right, &e.Front, &e.Up, &p.X, &p.Y, &p.Z, &q.X, &q.Y, &q.Z,
			&want); err != nil {
			t.Fatalf("%q: %v", row, err)
		}
		if what == "meridian" {
			var arc layout.Arc
			if arc, err = e.Section(p, r3.Vec{Z: e.Up}, q); err == nil {
				got = arc.Length()
			}
		} else {
			got, err = e.Distance(p, q)
		}
		if err != nil {
			t.Fatalf("%q: %v", row, err)
		}
		d := math.Abs(got - want)
		if d > tolerance[what] {
			t.Errorf("%s on %+v: from %v to %v %.9f mm, want %.9f", what, e, p, q, got, want)
		}
		compared[what]++
		worst[what] = max(worst[what], d)
	}
	if compared["shortest"] != 100 || compared["meridian"] != 40 || compared["polygon"] != 8 {
		t.Errorf("compared %v, want 100, 40 and 8", compared)
	}
	t.Logf("largest errors in mm: %v", worst)
}

// A distance is symmetric, not longer than any section, and two of them are not
// shorter than the third.
func TestDistanceIsShortest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := head.Ellipsoid{
			rapid.Float64Range(70, 100).Draw(t, "right"), rapid.Float64Range(80, 115).Draw(t, "front"),
			rapid.Float64Range(75, 105).Draw(t, "up"),
		}
		p, q, r := headtest.AnyPoint(t, e, "p"), headtest.AnyPoint(t, e, "q"), headtest.AnyPoint(t, e, "r")
		pq, err1 := e.Distance(p, q)
		qp, err2 := e.Distance(q, p)
		pr, err3 := e.Distance(p, r)
		rq, err4 := e.Distance(r, q)
		if err1 != nil || err2 != nil || err3 != nil || err4 != nil {
			t.Skip("too wide")
		}
		if math.Abs(pq-qp) > 1e-7 {
			t.Errorf("%g there, %g back", pq, qp)
		}
		if pr+rq < pq-1e-7 {
			t.Errorf("%g + %g over another point, %g straight", pr, rq, pq)
		}
		if straight := headtest.Apart(p, q); pq < straight*(1-1e-14) {
			t.Errorf("%g is shorter than the chord, %g", pq, straight)
		}
		if arc, err := e.Section(p, r, q); err == nil && arc.Length() < pq-1e-7 {
			t.Errorf("a section of %g is shorter than %g", arc.Length(), pq)
		}
	})
}

// Crossing distances on the sphere of 560 mm to one decimal, computed apart
// from this package while the method was written down.
func TestCrossingDistances(t *testing.T) {
	s := head.Sphere(head.Default().Radius())
	at := headtest.Positions(t, s, "Fp1", "F7", "F3", "Fz", "C3", "LPA", "RPA", "Nz", "Iz", "T7", "T8")
	for _, c := range []struct {
		from, to layout.Name
		want     float64
	}{{"F3", "F7", 52.3}, {"F3", "Fz", 52.3}, {"Fp1", "F3", 56.3}, {"F3", "C3", 65.9}} {
		if got, err := s.Distance(at[c.from], at[c.to]); err != nil || math.Abs(got-c.want) > 0.05 {
			t.Errorf("%s to %s: %.2f mm, %v, want %.1f", c.from, c.to, got, err, c.want)
		}
	}
	if d, err := s.Distance(at["F3"], at["F3"]); d != 0 || err != nil {
		t.Errorf("F3 is %g mm from itself, %v", d, err)
	}
	if _, err := s.Distance(at["T7"], at["T8"]); err == nil || !strings.Contains(err.Error(), "too far apart") {
		t.Errorf("T7 to T8: %v", err)
	}
	if _, err := s.Distance(at["T7"], r3.Scale(1.1, at["Fz"])); err == nil ||
		!strings.Contains(err.Error(), "not on the ellipsoid") {
		t.Errorf("off the surface: %v", err)
	}
}

func TestDistanceOverTheMidline(t *testing.T) {
	equal, err := head.Head{NasionInion: 365, Halves: head.Halves{280, 280, 170, 170}}.Surface()
	if err != nil {
		t.Fatal(err)
	}
	e, h := headtest.Measured(t), uneven(t)
	at, there := headtest.Positions(t, e, layout.Set1010()...), headtest.Positions(t, h, layout.Set1010()...)
	worst := 0.0
	for _, pair := range [][2]layout.Name{{"F3", "F4"}, {"C3", "F2"}, {"P7", "Cz"}, {"O1", "PO4"}, {"Fp1", "AF8"},
		{"CP1", "C2"}, {"Fz", "F4"}} {
		want, err := e.Distance(at[pair[0]], at[pair[1]])
		if err != nil {
			t.Fatal(err)
		}
		got, err := equal.Distance(at[pair[0]], at[pair[1]])
		if err != nil {
			t.Fatal(err)
		}
		worst = max(worst, math.Abs(got-want))
		// On uneven halves the way is no longer than the rule's
		// section.
		over, err := h.Distance(there[pair[0]], there[pair[1]])
		if err != nil {
			t.Fatal(err)
		}
		if straight := headtest.Apart(there[pair[0]], there[pair[1]]); over < straight || over > 1.2*straight {
			t.Errorf("%v: %g mm, the chord %g", pair, over, straight)
		}
	}
	if worst > 1e-6 {
		t.Errorf("equal halves differ from the ellipsoid by %g mm", worst)
	}
	t.Logf("equal halves and ellipsoid differ by %.2g mm", worst)
}

func BenchmarkEllipsoidDistance(b *testing.B) {
	e := headtest.Measured(b)
	at := headtest.Positions(b, e, "F3", "C3")
	for b.Loop() {
		if _, err := e.Distance(at["F3"], at["C3"]); err != nil {
			b.Fatal(err)
		}
	}
}
