package head

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/internal/geometry"
)

// Halves are the two sides of a head where a tape measured each by itself, in
// mm: the half rings from Fpz over T7 (T8) to Oz, and the half ear arcs from
// LPA (RPA) to the vertex. A pair that was not measured is zero; its halves are
// then taken to be equal.
type Halves struct {
	LeftRing, RightRing float64
	LeftEar, RightEar   float64
}

// A TwoHalves is a head whose sides differ: two half ellipsoids that meet in
// the midline plane x = 0, with one semi-axis to the front and one to the top,
// and each its own to the side. There they also share the tangent planes, so
// that arcs and tapes cross the midline without a bend.
//
// The ring lies in a plane through Fpz and Oz that is tilted to one side. With
// the semi-axes and that tilt, the nasion-inion arc, both half rings and both
// half ear arcs have exactly the measured lengths; T7 and T8 divide their half
// ear arcs as by the rule. All else is as good as the model: that the midline
// is plane and stands upright, that each side is an ellipsoid, and that a
// difference of the half ear arcs which the rings do not show is a tilt of the
// ears, not of the vertex.
type TwoHalves struct {
	Left, Right Ellipsoid // Front and Up are the same
	Tilt        float64   // of the ring about y, in radians; positive when T7 is higher than T8
	ears        [2]float64
}

// complete returns the halves, those not measured being half of the whole.
func (h Head) complete() Halves {
	s := h.Halves
	if s.LeftRing == 0 && s.RightRing == 0 {
		s.LeftRing, s.RightRing = h.Circumference/2, h.Circumference/2
	}
	if s.LeftEar == 0 && s.RightEar == 0 {
		s.LeftEar, s.RightEar = h.EarEar/2, h.EarEar/2
	}
	return s
}

// summed returns the head with the sums of halves for wholes that were not
// measured.
func (h Head) summed() Head {
	if h.Circumference == 0 {
		h.Circumference = h.Halves.LeftRing + h.Halves.RightRing
	}
	if h.EarEar == 0 {
		h.EarEar = h.Halves.LeftEar + h.Halves.RightEar
	}
	return h
}

// Surface returns the head to place sites on: what [Head.Model] returns, or a
// [TwoHalves] when halves were measured.
func (h Head) Surface() (layout.Surface, error) {
	e, err := h.Model()
	if err != nil || h.Halves == (Halves{}) {
		return e, err
	}
	return fitHalves(h.summed().complete(), h.NasionInion)
}

// fitHalves solves for the semi-axes and the tilt by Newton's method from the
// ellipsoid with the mean of the sides. Halves within the limits of the check
// need a few steps.
func fitHalves(s Halves, nasionInion float64) (TwoHalves, error) {
	e, err := fitEllipsoid((s.LeftRing+s.RightRing)/4, 0.4*nasionInion, 0.4*(s.LeftEar+s.RightEar))
	if err != nil {
		return TwoHalves{}, err
	}
	const scale = 100 // mm for a radian, so that all unknowns are alike
	head := func(v []float64) TwoHalves {
		return TwoHalves{
			Left:  Ellipsoid{Right: v[0], Front: v[2], Up: v[3]},
			Right: Ellipsoid{Right: v[1], Front: v[2], Up: v[3]},
			Tilt:  v[4] / scale,
			ears:  [2]float64{s.LeftEar, s.RightEar},
		}
	}
	missing := func(v []float64) []float64 {
		h := head(v)
		t7, t8 := h.temples()
		return []float64{
			2*geometry.QuarterPerimeter(h.Left.Front, r3.Norm(t7)) - s.LeftRing,
			2*geometry.QuarterPerimeter(h.Left.Front, r3.Norm(t8)) - s.RightRing,
			geometry.QuarterPerimeter(h.Left.Front, h.Left.Up) - 0.4*nasionInion,
			h.Left.fromTop(t7) - 0.8*s.LeftEar,
			h.Right.fromTop(t8) - 0.8*s.RightEar,
		}
	}
	v := []float64{e.Right, e.Right, e.Front, e.Up, 0}
	for range 50 {
		r := missing(v)
		if floatsWithin(r, 1e-11*nasionInion) {
			return head(v), nil
		}
		step, ok := newtonStep(missing, v, r)
		if !ok {
			break
		}
		for i := range v {
			v[i] += step[i]
		}
		if !(min(v[0], v[1], v[2], v[3]) > 0 && math.Abs(v[4]) < scale) {
			break
		}
	}
	return TwoHalves{}, errors.New("no head has these halves: measure both half rings and both half ear arcs again")
}

// temples returns T7 and T8, where the tilted ring meets the plane y = 0.
func (h TwoHalves) temples() (t7, t8 r3.Vec) {
	sin, cos := math.Sincos(h.Tilt)
	onto := func(e Ellipsoid, d r3.Vec) r3.Vec { return r3.Scale(1/r3.Norm(e.ToUnit(d)), d) }
	return onto(h.Left, r3.Vec{X: -cos, Z: sin}), onto(h.Right, r3.Vec{X: cos, Z: -sin})
}

// fromTop returns the length of the arc from the top down to a point.
func (e Ellipsoid) fromTop(p r3.Vec) float64 {
	top := r3.Vec{Z: e.Up}
	before, _ := e.section(top, p, r3.Scale(-1, top)).Parts()
	return before.Length()
}

// Landmarks returns the vertex at the top, nasion and inion as on the ellipsoid
// of either side, and the preauricular points at the ends of the half ear arcs.
func (h TwoHalves) Landmarks() layout.Landmarks {
	l := h.Left.Landmarks()
	t7, t8 := h.temples()
	down := func(e Ellipsoid, p r3.Vec, length float64) r3.Vec {
		arc := e.section(l.Vertex, p, r3.Scale(-1, l.Vertex))
		return arc.At(length / arc.Length())
	}
	l.LeftPreauricular = down(h.Left, t7, h.ears[0])
	l.RightPreauricular = down(h.Right, t8, h.ears[1])
	return l
}

// Points nearer to the midline than this, in mm, belong to both sides.
const onMidline = 1e-6

// Section returns the arc through three points of one side, or from one side
// over a point of the midline to the other. It refuses others, which the rules
// do not need.
func (h TwoHalves) Section(from, via, to r3.Vec) (layout.Arc, error) {
	points := [3]r3.Vec{from, via, to}
	left := max(from.X, via.X, to.X) <= onMidline
	right := min(from.X, via.X, to.X) >= -onMidline
	switch {
	case left:
		return h.Left.Section(from, via, to)
	case right:
		return h.Right.Section(from, via, to)
	case math.Abs(via.X) > onMidline || from.X*to.X >= 0:
		return nil, &layout.SectionError{Points: points,
			Reason: "it crosses the midline, but not at the middle point"}
	}
	for i, p := range points {
		if !(math.Abs(r3.Norm(h.Side(p).ToUnit(p))-1) <= onSurface) {
			return nil, &layout.SectionError{Points: points,
				Reason: fmt.Sprintf("point %d is not on the head", i+1)}
		}
	}
	before, _ := h.Side(from).section(from, via, to).Parts()
	after, _ := h.Side(to).section(to, via, from).Parts()
	return joined{before.(ellipticArc), after.(ellipticArc).reversed()}, nil
}

// Side is the ellipsoid of the side that a point is on.
func (h TwoHalves) Side(p r3.Vec) Ellipsoid {
	if p.X < 0 {
		return h.Left
	}
	return h.Right
}

// joined is an arc over the midline.
type joined struct{ before, after ellipticArc }

func (j joined) Length() float64 { return j.before.Length() + j.after.Length() }

func (j joined) At(fraction float64) r3.Vec {
	d := fraction * j.Length()
	if first := j.before.Length(); d > first {
		return j.after.At((d - first) / j.after.Length())
	}
	return j.before.At(d / j.before.Length())
}

func (j joined) Curvature(fraction float64) float64 {
	d := fraction * j.Length()
	if first := j.before.Length(); d > first {
		return j.after.Curvature((d - first) / j.after.Length())
	}
	return j.before.Curvature(d / j.before.Length())
}

func (j joined) Parts() (before, after layout.Arc) { return j.before, j.after }

// reversed runs from the end to the start.
func (a ellipticArc) reversed() ellipticArc {
	a.start, a.end = a.end, a.start
	return a
}
