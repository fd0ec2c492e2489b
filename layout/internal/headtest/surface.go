package headtest

import (
	"math"
	"sort"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
)

// RuleNamed finds the rule of an arc.
func RuleNamed(t testing.TB, arc string) layout.Rule {
	t.Helper()
	for _, r := range layout.Rules() {
		if r.Arc() == arc {
			return r
		}
	}
	t.Fatalf("no rule %s", arc)
	return layout.Rule{}
}

// Section is the arc of a rule on a surface.
func Section(t testing.TB, r layout.Rule, s layout.Surface) layout.Arc {
	t.Helper()
	arc, err := r.Section(s)
	if err != nil {
		t.Fatal(err)
	}
	return arc
}

// Worst returns the largest distance between the sites on two surfaces.
func Worst(t testing.TB, got, want layout.Surface) float64 {
	t.Helper()
	w := Positions(t, want, layout.Set1005()...)
	far := 0.0
	for n, p := range Positions(t, got, layout.Set1005()...) {
		far = max(far, Apart(p, w[n]))
	}
	return far
}

// Wrap lays a strip on an ellipsoid from the start of an arc and in its
// direction, or turned from it by an angle, as the curve that turns within the
// surface as the strip turns in the plane. It returns the largest distance from
// the arc.
func Wrap(strip []layout.StripPoint, e head.Ellipsoid, arc layout.Arc, turned float64) float64 {
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
		u := e.ToUnit(p)
		gradient := r3.Vec{X: u.X / e.Right, Y: u.Y / e.Front, Z: u.Z / e.Up}
		fall := r3.Norm2(e.ToUnit(v)) / r3.Norm2(gradient)
		return r3.Sub(r3.Scale(bendAt(d), r3.Cross(e.Normal(p), v)), r3.Scale(fall, gradient))
	}
	p := arc.At(0)
	v := r3.NewRotation(turned, e.Normal(p)).Rotate(r3.Unit(r3.Sub(arc.At(1e-7), p)))
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
		p = r3.Scale(1/r3.Norm(e.ToUnit(p)), p)
		worst = max(worst, Apart(p, arc.At((d+h)/length)))
	}
	return worst
}
