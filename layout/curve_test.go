package layout_test

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/layout/internal/headtest"
)

// Radii of the strips for the sphere of 560 mm to one decimal, computed apart
// from this package while the method was written down: R·tan α.
func TestStripRadiusOnSphere(t *testing.T) {
	s := head.Sphere(head.Default().Radius())
	for arc, want := range map[string]float64{
		"AF7-AFz-AF8": 72.7, "PO7-POz-PO8": 72.7,
		"F7-Fz-F8": 125.3, "P7-Pz-P8": 125.3,
		"FT7-FCz-FT8": 275.3, "TP7-CPz-TP8": 275.3,
		"Nz-LPA-Iz": 215.2, "Nz-RPA-Iz": 215.2,
		"Nz-Cz-Iz": math.Inf(1), "LPA-Cz-RPA": math.Inf(1), "Fpz-T7-Oz": math.Inf(1),
	} {
		a := headtest.Section(t, headtest.RuleNamed(t, arc), s)
		before, after := a.Parts()
		for _, bend := range []float64{a.Curvature(0), a.Curvature(0.3), a.Curvature(1), before.Curvature(0.5),
			after.Curvature(0.5)} {
			got := 1 / math.Abs(bend)
			if math.IsInf(want, 1) && got > 1e9 || math.Abs(got-want) <= 0.05 {
				continue
			}
			t.Errorf("%s: radius %.2f mm, want %.1f", arc, got, want)
		}
	}
	// Rows from left to right curve about the front of the head before the
	// vertex, to the left, and about the back behind it. The lower rings
	// curve about the bottom.
	for arc, sign := range map[string]float64{"F7-Fz-F8": 1, "P7-Pz-P8": -1, "Nz-LPA-Iz": -1, "Nz-RPA-Iz": 1} {
		if bend := headtest.Section(t, headtest.RuleNamed(t, arc), s).Curvature(0.5); bend*sign <= 0 {
			t.Errorf("%s bends by %g", arc, bend)
		}
	}
}

// Against differences of points of the arc: the part of the second derivative
// that lies in the tangent plane.
func TestCurvatureAgainstDifferences(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, _, _, _, arc := headtest.AnySection(t)
		if arc.Length() < 30 {
			t.Skip("short")
		}
		f := rapid.Float64Range(0.1, 0.9).Draw(t, "fraction")
		difference := func(h float64) float64 { // over h mm
			step := h / arc.Length()
			before, here, after := arc.At(f-step), arc.At(f), arc.At(f+step)
			ahead := r3.Unit(r3.Sub(after, before))
			second := r3.Scale(1/(h*h), r3.Sub(r3.Add(before, after), r3.Scale(2, here)))
			return r3.Dot(second, r3.Cross(e.Normal(here), ahead))
		}
		// Both err by the square of h, so that a third of what they
		// differ by takes the finer one to the limit (Richardson);
		// where the arc bends quickly, that is much.
		coarse, fine := difference(0.2), difference(0.1)
		want := fine + (fine-coarse)/3
		if got := arc.Curvature(f); math.Abs(got-want) > 1e-6+1e-4*math.Abs(want)+math.Abs(fine-coarse)/10 {
			t.Errorf("curvature %g, by differences %g", got, want)
		}
	})
}

func TestStripLiesOnTheArc(t *testing.T) {
	for head, e := range models(t) {
		worst := 0.0
		for _, r := range layout.Rules() {
			arc := headtest.Section(t, r, e)
			strip, err := layout.Unroll(arc, 2)
			if err != nil {
				t.Fatal(err)
			}
			off := headtest.Wrap(strip, e, arc, 0)
			worst = max(worst, off)
			if off > 0.5 {
				t.Errorf("%s: the strip of %s is %.2f mm off", head, r.Arc(), off)
			}
		}
		t.Logf("%s: worst strip %.3f mm off", head, worst)
	}
}

// The strip of a small circle is a circle of radius R·tan α.
func TestUnrollOnSphere(t *testing.T) {
	arc := headtest.Section(t, headtest.RuleNamed(t, "F7-Fz-F8"), head.Sphere(head.Default().Radius()))
	radius := 1 / arc.Curvature(0)
	for _, step := range []float64{0.3, 1, 5, 60, 1000} {
		strip, err := layout.Unroll(arc, step)
		if err != nil {
			t.Fatal(err)
		}
		last := strip[len(strip)-1]
		if want := int(math.Ceil(arc.Length()/step)) + 1; len(strip) != want ||
			math.Abs(last.Distance-arc.Length()) > 1e-9 {
			t.Errorf("step %g: %d points to %g mm, want %d to %g", step, len(strip), last.Distance, want,
				arc.Length())
		}
		for _, p := range strip {
			sin, cos := math.Sincos(p.Distance / radius)
			if d := math.Hypot(p.X-radius*sin, p.Y-radius*(1-cos)); d > 1e-6 {
				t.Errorf("step %g: the point at %g mm is %g mm off the circle", step, p.Distance, d)
			}
		}
	}
	for _, step := range []float64{0, -1, math.NaN(), 1e-6} {
		if _, err := layout.Unroll(arc, step); err == nil || !strings.Contains(err.Error(), "a step of") {
			t.Errorf("step %g: %v", step, err)
		}
	}
}

func BenchmarkUnroll(b *testing.B) {
	arc := headtest.Section(b, headtest.RuleNamed(b, "F7-Fz-F8"), headtest.Measured(b))
	for b.Loop() {
		if _, err := layout.Unroll(arc, 1); err != nil {
			b.Fatal(err)
		}
	}
}
