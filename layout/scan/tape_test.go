package scan

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/internal/headtest"
)

// The reference is testdata/layout/scan.tsv: sections cut by numpy and their
// convex hulls by scipy, on an uneven head with hollow temples, nose and ears.
func TestTapeAgainstConvexHull(t *testing.T) {
	file, err := os.Open("../../testdata/layout/scan.ply")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	m, err := ReadMesh(file, AnyMesh)
	if err != nil {
		t.Fatal(err)
	}
	s := &Scan{mesh: m}
	table, err := os.Open("../../testdata/layout/scan.tsv")
	if err != nil {
		t.Fatal(err)
	}
	defer table.Close()
	lines := bufio.NewScanner(table)
	lines.Scan()
	compared, worst, spanned := 0, 0.0, 0.0
	for lines.Scan() {
		var p [4]r3.Vec
		var tape, skin float64
		if _, err := fmt.Sscan(lines.Text(), &p[0].X, &p[0].Y, &p[0].Z, &p[1].X, &p[1].Y, &p[1].Z, &p[2].X,
			&p[2].Y,
			&p[2].Z,
			&tape, &skin, &p[3].X, &p[3].Y, &p[3].Z); err != nil {
			t.Fatalf("%q: %v", lines.Text(), err)
		}
		arc, err := s.Section(p[0], p[1], p[2])
		if err != nil {
			t.Fatal(err)
		}
		compared++
		worst = max(worst, math.Abs(arc.Length()-tape), headtest.Apart(arc.At(0.3), p[3]))
		spanned = max(spanned, skin-tape)
	}
	if compared != 6 || worst > 1e-6 || spanned < 1 {
		t.Errorf("%d tapes, %g mm off, at most %g mm shorter than the skin: want 6 within 1e-6, and hollows",
			compared,
			worst, spanned)
	}
	t.Logf("worst %.2g mm; the longest way over the skin is %.1f mm longer than its tape", worst, spanned)
}

// On the uneven head all sites are found, the vertex halves both arcs, and
// no tape hangs far over the skin.
func TestUnevenScanIsPlaced(t *testing.T) {
	file, err := os.Open("../../testdata/layout/scan.ply")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	m, err := ReadMesh(file, AnyMesh)
	if err != nil {
		t.Fatal(err)
	}
	s := mustScan(t, m, Landmarks{
		Nasion: r3.Vec{X: 1.14, Y: 99.33, Z: -34.66}, Inion: r3.Vec{X: 2.20, Y: -88.18, Z: -33.03},
		LeftPreauricular:  r3.Vec{X: -78.77, Y: 8.00, Z: -35.94},
		RightPreauricular: r3.Vec{X: 78.89, Y: 7.61, Z: -35.45},
	}, "")
	t.Logf("measures %+v, warnings %q", s.Measures(), s.Warnings())
	deepest := 0.0
	for _, p := range headtest.Place(t, s, layout.Set1005()...) {
		_, d := s.mesh.nearest(p.Position)
		deepest = max(deepest, d)
	}
	t.Logf("the tapes hang up to %.1f mm over the skin", deepest)
	if deepest > 8 {
		t.Errorf("a site is %.1f mm off the skin", deepest)
	}
	for _, r := range layout.Rules()[:2] {
		arc := headtest.Section(t, r, s)
		if d := headtest.Apart(arc.At(0.5), s.Landmarks().Vertex); d > 2 {
			t.Errorf("the middle of %s is %.2f mm from the vertex", r.Arc(), d)
		}
		before, after := arc.Parts()
		if d := math.Abs(before.Length() - after.Length()); d > 2*vertexTolerance {
			t.Errorf("the vertex divides %s into %.3f and %.3f mm", r.Arc(), before.Length(),
				after.Length())
		}
	}
}

// A section in a plane that runs through corners and along edges of the mesh,
// as the middle of a symmetric scan does.
func TestSectionThroughCorners(t *testing.T) {
	vertices, triangles := icosphere(3)
	m, err := NewMesh(vertices, triangles)
	if err != nil {
		t.Fatal(err)
	}
	for _, normal := range []r3.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
		chains := m.cut(plane{normal, 0})
		if len(chains) != 1 || !chains[0].closed {
			t.Errorf("plane %v: %d chains, want one that closes", normal, len(chains))
			continue
		}
		around := 0.0
		points := chains[0].points
		for i, p := range points {
			around += headtest.Apart(p, points[(i+1)%len(points)])
		}
		if math.Abs(around-2*math.Pi) > 0.02 {
			t.Errorf("plane %v: %g around, want nearly 2π", normal, around)
		}
	}
}

// Parts of a tape, and its points beyond the ends.
func TestTapeParts(t *testing.T) {
	e := headtest.Measured(t)
	m, l := scanOf(t, e, 4, pose{turnedAway, all})
	s := mustScan(t, m, l, "")
	mark := s.Landmarks()
	arc, err := s.Section(mark.Nasion, mark.Vertex, mark.Inion)
	if err != nil {
		t.Fatal(err)
	}
	before, after := arc.Parts()
	first, second := before.Parts()
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"parts", before.Length() + after.Length(), arc.Length()},
		{"halves of a part", first.Length(), second.Length()},
		{"end of the first part", headtest.Apart(before.At(1), mark.Vertex), 0},
		{"start of the second part", headtest.Apart(after.At(0), mark.Vertex), 0},
		{"end", headtest.Apart(arc.At(1), mark.Inion), 0},
		{"beyond the end", headtest.Apart(arc.At(1.01), arc.At(1)), 0.01 * arc.Length()},
		{"before the start", headtest.Apart(arc.At(-0.01), arc.At(0)), 0.01 * arc.Length()},
	} {
		if math.Abs(c.got-c.want) > 0.02 {
			t.Errorf("%s: %g mm, want %g", c.what, c.got, c.want)
		}
	}
	if _, err := s.Section(mark.Nasion, mark.Nasion, mark.Inion); err == nil {
		t.Error("two points make a section")
	}
}

// The triangles' winding does not matter.
func TestCurvatureOfInsideOutScan(t *testing.T) {
	e := headtest.Measured(t)
	m, l := scanOf(t, e, 4, pose{turnedAway, all})
	inside := slices.Clone(m.triangles)
	for i, f := range inside {
		if i%3 > 0 {
			inside[i] = [3]int32{f[0], f[2], f[1]}
		}
	}
	other, err := NewMesh(m.vertices, inside)
	if err != nil {
		t.Fatal(err)
	}
	r := headtest.RuleNamed(t, "F7-Fz-F8")
	want := headtest.Section(t, r, mustScan(t, m, l, "")).Curvature(0.4)
	if got := headtest.Section(t, r, mustScan(t, other, l, "")).Curvature(0.4); math.Abs(got-want) > 1e-12 {
		t.Errorf("curvature %g, want %g", got, want)
	}
}
