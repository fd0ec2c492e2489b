package layout

import (
	"math"
	"math/rand/v2"
	"sort"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func ruleNamed(t testing.TB, arc string) Rule {
	t.Helper()
	for _, r := range Rules() {
		if r.Arc() == arc {
			return r
		}
	}
	t.Fatalf("no rule %s", arc)
	return Rule{}
}

func sectionOf(t testing.TB, r Rule, s Surface) Arc {
	t.Helper()
	arc, err := r.Section(s)
	if err != nil {
		t.Fatal(err)
	}
	return arc
}

// Radii of the strips for the sphere of 560 mm to one decimal, computed apart from
// this package while the method was written down: R·tan α.
func TestStripRadiusOnSphere(t *testing.T) {
	s := Sphere(DefaultHead().Radius())
	for arc, want := range map[string]float64{
		"AF7-AFz-AF8": 72.7, "PO7-POz-PO8": 72.7,
		"F7-Fz-F8": 125.3, "P7-Pz-P8": 125.3,
		"FT7-FCz-FT8": 275.3, "TP7-CPz-TP8": 275.3,
		"Nz-LPA-Iz": 215.2, "Nz-RPA-Iz": 215.2,
		"Nz-Cz-Iz": math.Inf(1), "LPA-Cz-RPA": math.Inf(1), "Fpz-T7-Oz": math.Inf(1),
	} {
		a := sectionOf(t, ruleNamed(t, arc), s)
		before, after := a.Parts()
		for _, bend := range []float64{a.Curvature(0), a.Curvature(0.3), a.Curvature(1), before.Curvature(0.5), after.Curvature(0.5)} {
			got := 1 / math.Abs(bend)
			if math.IsInf(want, 1) && got > 1e9 || math.Abs(got-want) <= 0.05 {
				continue
			}
			t.Errorf("%s: radius %.2f mm, want %.1f", arc, got, want)
		}
	}
	// Rows from left to right curve about the front of the head before the vertex,
	// to the left, and about the back behind it. The lower rings curve about the
	// bottom.
	for arc, sign := range map[string]float64{"F7-Fz-F8": 1, "P7-Pz-P8": -1, "Nz-LPA-Iz": -1, "Nz-RPA-Iz": 1} {
		if bend := sectionOf(t, ruleNamed(t, arc), s).Curvature(0.5); bend*sign <= 0 {
			t.Errorf("%s bends by %g", arc, bend)
		}
	}
}

// Against differences of points of the arc: the part of the second derivative
// that lies in the tangent plane.
func TestCurvatureAgainstDifferences(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, _, _, _, arc := anySection(t)
		if arc.Length() < 30 {
			t.Skip("short")
		}
		f := rapid.Float64Range(0.1, 0.9).Draw(t, "fraction")
		difference := func(h float64) float64 { // over h mm
			step := h / arc.Length()
			before, here, after := arc.At(f-step), arc.At(f), arc.At(f+step)
			ahead := r3.Unit(r3.Sub(after, before))
			second := r3.Scale(1/(h*h), r3.Sub(r3.Add(before, after), r3.Scale(2, here)))
			return r3.Dot(second, r3.Cross(e.normal(here), ahead))
		}
		// Both err by the square of h, so that a third of what they differ by takes the
		// finer one to the limit (Richardson); where the arc bends quickly, that is much.
		coarse, fine := difference(0.2), difference(0.1)
		want := fine + (fine-coarse)/3
		if got := arc.Curvature(f); math.Abs(got-want) > 1e-6+1e-4*math.Abs(want)+math.Abs(fine-coarse)/10 {
			t.Errorf("curvature %g, by differences %g", got, want)
		}
	})
}

// wrap lays a strip on an ellipsoid from the start of an arc and in its direction,
// or turned from it by an angle, as the curve that turns within the surface as the
// strip turns in the plane. It returns the largest distance from the arc.
func wrap(strip []StripPoint, e Ellipsoid, arc Arc, turned float64) float64 {
	bend := make([]float64, len(strip)-1) // over the piece that ends in the middle of the next segment
	heading, at := 0.0, 0.0
	var ends []float64
	for i := range bend {
		p, q := strip[i], strip[i+1]
		next := math.Atan2(q.Y-p.Y, q.X-p.X)
		next += 2 * math.Pi * math.Round((heading-next)/(2*math.Pi))
		middle := (p.Distance + q.Distance) / 2
		bend[i] = (next - heading) / (middle - at)
		heading, at = next, middle
		ends = append(ends, middle)
	}
	bendAt := func(d float64) float64 {
		return bend[min(sort.SearchFloat64s(ends, d), len(bend)-1)]
	}
	acceleration := func(p, v r3.Vec, d float64) r3.Vec {
		u := e.toUnit(p)
		gradient := r3.Vec{X: u.X / e.Right, Y: u.Y / e.Front, Z: u.Z / e.Up}
		fall := r3.Norm2(e.toUnit(v)) / r3.Norm2(gradient)
		return r3.Sub(r3.Scale(bendAt(d), r3.Cross(e.normal(p), v)), r3.Scale(fall, gradient))
	}
	p := arc.At(0)
	v := r3.NewRotation(turned, e.normal(p)).Rotate(r3.Unit(r3.Sub(arc.At(1e-7), p)))
	length := strip[len(strip)-1].Distance
	const steps = 1000
	h := length / steps
	worst := 0.0
	for i := range steps {
		// The midpoint rule, far finer than the strip's points.
		d := float64(i) * h
		pm := r3.Add(p, r3.Scale(h/2, v))
		vm := r3.Unit(r3.Add(v, r3.Scale(h/2, acceleration(p, v, d))))
		v = r3.Unit(r3.Add(v, r3.Scale(h, acceleration(pm, vm, d+h/2))))
		p = r3.Add(p, r3.Scale(h, vm))
		p = r3.Scale(1/r3.Norm(e.toUnit(p)), p)
		worst = max(worst, apart(p, arc.At((d+h)/length)))
	}
	return worst
}

func TestStripLiesOnTheArc(t *testing.T) {
	for head, e := range models(t) {
		worst := 0.0
		for _, r := range Rules() {
			arc := sectionOf(t, r, e)
			strip, err := Unroll(arc, 2)
			if err != nil {
				t.Fatal(err)
			}
			off := wrap(strip, e, arc, 0)
			worst = max(worst, off)
			if off > 0.5 {
				t.Errorf("%s: the strip of %s is %.2f mm off", head, r.Arc(), off)
			}
		}
		t.Logf("%s: worst strip %.3f mm off", head, worst)
	}
}

// The strip of a scan is laid on the ellipsoid that was scanned.
func TestStripOfScanLiesOnTheArc(t *testing.T) {
	e := measured(t)
	m, l := scanOf(t, e, 5, pose{turnedAway, all})
	s := mustScan(t, m, l, "")
	worst := 0.0
	for _, r := range Rules() {
		strip, err := Unroll(sectionOf(t, r, s), 2)
		if err != nil {
			t.Fatal(err)
		}
		off := wrap(strip, e, sectionOf(t, r, e), 0)
		worst = max(worst, off)
		if off > 0.5 {
			t.Errorf("the strip of %s is %.2f mm off", r.Arc(), off)
		}
	}
	t.Logf("worst strip %.3f mm off", worst)
}

// The strip of a small circle is a circle of radius R·tan α.
func TestUnrollOnSphere(t *testing.T) {
	arc := sectionOf(t, ruleNamed(t, "F7-Fz-F8"), Sphere(DefaultHead().Radius()))
	radius := 1 / arc.Curvature(0)
	for _, step := range []float64{0.3, 1, 5, 60, 1000} {
		strip, err := Unroll(arc, step)
		if err != nil {
			t.Fatal(err)
		}
		last := strip[len(strip)-1]
		if want := int(math.Ceil(arc.Length()/step)) + 1; len(strip) != want || math.Abs(last.Distance-arc.Length()) > 1e-9 {
			t.Errorf("step %g: %d points to %g mm, want %d to %g", step, len(strip), last.Distance, want, arc.Length())
		}
		for _, p := range strip {
			sin, cos := math.Sincos(p.Distance / radius)
			if d := math.Hypot(p.X-radius*sin, p.Y-radius*(1-cos)); d > 1e-6 {
				t.Errorf("step %g: the point at %g mm is %g mm off the circle", step, p.Distance, d)
			}
		}
	}
	for _, step := range []float64{0, -1, math.NaN(), 1e-6} {
		if _, err := Unroll(arc, step); err == nil || !strings.Contains(err.Error(), "a step of") {
			t.Errorf("step %g: %v", step, err)
		}
	}
}

// Noise of a scanner, 0.2 mm at each vertex 3 mm apart, makes the tape ride on the
// higher points; a strip that is laid to fit best still follows it.
func TestStripOfNoisyScan(t *testing.T) {
	e := measured(t)
	random := rand.New(rand.NewPCG(1, 2))
	rough := pose{func(v r3.Vec) r3.Vec { return r3.Scale(1+0.2/90*random.NormFloat64(), v) }, all}
	m, l := scanOf(t, e, 5, rough)
	s := mustScan(t, m, l, "")
	worstStrip := 0.0
	for _, r := range Rules() {
		arc := sectionOf(t, r, s)
		strip, err := Unroll(arc, 2)
		if err != nil {
			t.Fatal(err)
		}
		off := math.Inf(1)
		for turned := -0.04; turned <= 0.04; turned += 0.01 {
			off = min(off, wrap(strip, e, sectionOf(t, r, e), turned))
		}
		worstStrip = max(worstStrip, off)
	}
	if d := worst(t, s, e); d > 1 || worstStrip > 1.5 {
		t.Errorf("a site is %.2f mm off, a strip %.2f mm", d, worstStrip)
	} else {
		t.Logf("worst site %.2f mm off, worst strip %.2f mm", d, worstStrip)
	}
}

func BenchmarkUnroll(b *testing.B) {
	arc := sectionOf(b, ruleNamed(b, "F7-Fz-F8"), measured(b))
	for b.Loop() {
		if _, err := Unroll(arc, 1); err != nil {
			b.Fatal(err)
		}
	}
}
