package head_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/layout/internal/headtest"
)

func TestSectionRunsThroughItsPoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, from, via, to, arc := headtest.AnySection(t)
		before, after := arc.Parts()
		for _, c := range []struct {
			what      string
			got, want r3.Vec
		}{
			{"start", arc.At(0), from}, {"end", arc.At(1), to},
			{"start of the first part", before.At(0), from}, {"end of the first part", before.At(1), via},
			{"start of the second part", after.At(0), via}, {"end of the second part", after.At(1), to},
		} {
			if d := headtest.Apart(c.got, c.want); d > 1e-9 {
				t.Errorf("%s is %g mm off", c.what, d)
			}
		}
		if d := math.Abs(before.Length() + after.Length() - arc.Length()); d > 1e-9 {
			t.Errorf("parts are %g mm longer or shorter than the arc", d)
		}
		normal := r3.Unit(r3.Cross(r3.Sub(via, from), r3.Sub(to, from)))
		p := arc.At(rapid.Float64Range(-0.2, 1.2).Draw(t, "fraction"))
		if off := r3.Dot(normal, r3.Sub(p, from)); math.Abs(off) > 1e-9 {
			t.Errorf("%v is %g mm off the plane", p, off)
		}
		if off := r3.Norm(e.ToUnit(p)) - 1; math.Abs(off) > 1e-12 {
			t.Errorf("%v is %g off the surface", p, off)
		}
	})
}

// The sections before and after a point of an arc, made anew from points, must
// have the lengths that the point was placed by.
func TestAtDividesTheLength(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, from, _, to, arc := headtest.AnySection(t)
		f := rapid.Float64Range(0.2, 0.8).Draw(t, "fraction")
		p := arc.At(f)
		if min(headtest.Apart(from, p), headtest.Apart(p, to)) < 10 {
			t.Skip("points too close")
		}
		first, err := e.Section(from, arc.At(f/2), p)
		if err != nil {
			t.Fatal(err)
		}
		if d := math.Abs(first.Length() - f*arc.Length()); d > 1e-9 {
			t.Errorf("length to %g of %g mm is %g mm off", f, arc.Length(), d)
		}
	})
}

// A polygon of n chords is shorter by a share of order 1/n².
func TestLengthAgainstChords(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, _, _, _, arc := headtest.AnySection(t)
		const n = 400
		sum := 0.0
		last := arc.At(0)
		for i := 1; i <= n; i++ {
			p := arc.At(float64(i) / n)
			sum += headtest.Apart(last, p)
			last = p
		}
		if short := 1 - sum/arc.Length(); short < 0 || short > 2e-4 {
			t.Errorf("chords are shorter than %g mm by a share of %g", arc.Length(), short)
		}
	})
}

func TestSectionOnSphere(t *testing.T) {
	const r = 90.0
	s := head.Sphere(r)
	x, y, z := r3.Vec{X: r}, r3.Vec{Y: r}, r3.Vec{Z: r}
	arc, err := s.Section(x, z, r3.Vec{X: -r})
	if err != nil {
		t.Fatal(err)
	}
	if got := arc.Length(); math.Abs(got-math.Pi*r) > 1e-12 {
		t.Errorf("half a great circle is %g mm, want %g", got, math.Pi*r)
	}
	// Over the far side, three quarters of the circle.
	arc, err = s.Section(x, r3.Vec{Y: -r}, y)
	if err != nil {
		t.Fatal(err)
	}
	if got := arc.Length(); math.Abs(got-1.5*math.Pi*r) > 1e-12 {
		t.Errorf("three quarters of a great circle are %g mm, want %g", got, 1.5*math.Pi*r)
	}
	// The small circle through the ends of the three axes has radius
	// r·√(2/3).
	arc, err = s.Section(x, y, z)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := arc.Length(), 4*math.Pi/3*r*math.Sqrt(2.0/3); math.Abs(got-want) > 1e-12 {
		t.Errorf("two thirds of the small circle are %g mm, want %g", got, want)
	}
}

func TestSectionRefuses(t *testing.T) {
	s := head.Sphere(90)
	x, y, z := r3.Vec{X: 90}, r3.Vec{Y: 90}, r3.Vec{Z: 90}
	for _, c := range []struct {
		points [3]r3.Vec
		want   string
	}{
		{[3]r3.Vec{x, x, y}, "two points are the same"},
		{[3]r3.Vec{x, y, x}, "two points are the same"},
		{[3]r3.Vec{x, y, {Z: 91}}, "a point is not on the ellipsoid"},
		{[3]r3.Vec{{X: math.NaN()}, y, z}, "a point is not on the ellipsoid"},
		{[3]r3.Vec{{}, y, z}, "a point is not on the ellipsoid"},
	} {
		_, err := s.Section(c.points[0], c.points[1], c.points[2])
		if _, ok := errors.AsType[*layout.SectionError](err); !ok || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: %v, want %s", c.points, err, c.want)
		}
	}
}

func BenchmarkArcAt(b *testing.B) {
	arc, err := layout.Rules()[11].Section(headtest.Measured(b))
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		arc.At(0.3)
	}
}
