package guide

import (
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// A rolled surface is turned about the axis from back to front, so that no
// point of the midline but its ends is near x = 0.
type rolled struct{ layout.Surface }

const roll = 0.12 // radians: Cz lies 11 mm to the right

func turnBy(v r3.Vec, angle float64) r3.Vec { return r3.Rotate(v, angle, r3.Vec{Y: 1}) }

func (s rolled) Section(from, via, to r3.Vec) (layout.Arc, error) {
	arc, err := s.Surface.Section(turnBy(from, -roll), turnBy(via, -roll), turnBy(to, -roll))
	return rolledArc{arc}, err
}

func (s rolled) Distance(from, to r3.Vec) (float64, error) {
	return s.Surface.Distance(turnBy(from, -roll), turnBy(to, -roll))
}

func (s rolled) Landmarks() layout.Landmarks {
	l := s.Surface.Landmarks()
	for _, v := range []*r3.Vec{&l.Nasion, &l.Inion, &l.LeftPreauricular, &l.RightPreauricular, &l.Vertex} {
		*v = turnBy(*v, roll)
	}
	return l
}

type rolledArc struct{ layout.Arc }

func (a rolledArc) At(f float64) r3.Vec { return turnBy(a.Arc.At(f), roll) }

func (a rolledArc) Parts() (before, after layout.Arc) {
	before, after = a.Arc.Parts()
	return rolledArc{before}, rolledArc{after}
}

// Midline and sides go by the names: the turned head has the same work.
func TestSidesOnAnAsymmetricSurface(t *testing.T) {
	o := Options{Sites: layout.Set1010()}
	straight := planOf(t, someHead, o)
	turned, err := newPlan(rolled{surface(t, someHead)}, someHead, &o)
	if err != nil {
		t.Fatal(err)
	}
	if x := turned.byName["Cz"].Position.X; x < 5 {
		t.Fatalf("Cz is %.1f mm from the middle: the surface is not asymmetric", x)
	}
	for n, want := range straight.byName {
		var a, b []layout.Name
		for _, c := range want.crossings {
			a = append(a, c.from)
		}
		for _, c := range turned.byName[n].crossings {
			b = append(b, c.from)
		}
		if !slices.Equal(a, b) {
			t.Errorf("%s is measured from %v, want %v", n, b, a)
		}
	}
	if got, ok := turned.leftFront(); got != "F7" || !ok {
		t.Errorf("the tap test is on %s", got)
	}
	a, errA := straight.curvedStrips()
	b, errB := turned.curvedStrips()
	if errA != nil || errB != nil {
		t.Fatal(errA, errB)
	}
	for i := range a {
		if a[i].nose != b[i].nose || a[i].rightward != b[i].rightward {
			t.Errorf("the strip %s is turned round", a[i].arc)
		}
	}
}
