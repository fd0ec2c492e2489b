package scalp

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout/head"
)

// A View is where the head is seen from. Left and right are the wearer's.
type View int

const (
	Top View = iota
	Left
	Right
	Front
	Back
)

var views = [...]struct {
	name, from string
	// across and up are the head's directions that point right and up on
	// the page, toward is the one to the eye.
	across, up, toward r3.Vec
}{
	Top:   {"top", "above", r3.Vec{X: 1}, r3.Vec{Y: 1}, r3.Vec{Z: 1}},
	Left:  {"left", "the left", r3.Vec{Y: -1}, r3.Vec{Z: 1}, r3.Vec{X: -1}},
	Right: {"right", "the right", r3.Vec{Y: 1}, r3.Vec{Z: 1}, r3.Vec{X: 1}},
	Front: {"front", "the front", r3.Vec{X: -1}, r3.Vec{Z: 1}, r3.Vec{Y: 1}},
	Back:  {"back", "behind", r3.Vec{X: 1}, r3.Vec{Z: 1}, r3.Vec{Y: -1}},
}

func (v View) String() string { return views[v].name }

// Set reads top, left, right, front or back.
func (v *View) Set(text string) error {
	for i, w := range views {
		if w.name == text {
			*v = View(i)
			return nil
		}
	}
	return fmt.Errorf("%q is no view: expected top, left, right, front or back", text)
}

// A Spacing is how the distance from the middle of a top view grows with the
// angle from the vertex.
type Spacing int

const (
	Equidistant   Spacing = iota // in proportion to the angle: distances from the vertex are kept
	EqualArea                    // Lambert's: areas are kept
	Stereographic                // angles are kept
)

var spacings = [...]struct {
	name             string
	radius, inverted func(float64) float64
}{
	Equidistant: {"equidistant", func(angle float64) float64 { return angle },
		func(r float64) float64 { return r }},
	EqualArea: {"equal-area", func(angle float64) float64 { return 2 * math.Sin(angle/2) },
		func(r float64) float64 { return 2 * math.Asin(min(r/2, 1)) }},
	Stereographic: {"stereographic", func(angle float64) float64 { return 2 * math.Tan(angle/2) },
		func(r float64) float64 { return 2 * math.Atan(r/2) }},
}

func (s Spacing) String() string { return spacings[s].name }

// Set reads equidistant, equal-area or stereographic.
func (s *Spacing) Set(text string) error {
	for i, p := range spacings {
		if p.name == text {
			*s = Spacing(i)
			return nil
		}
	}
	return fmt.Errorf("%q is no projection: expected equidistant, equal-area or stereographic", text)
}

// Type names the kind of value in the help.
func (View) Type() string    { return "view" }
func (Spacing) Type() string { return "projection" }

// SideView is the orthographic projection of a head seen from the left, the
// right, the front or behind, in units of the longer of its horizontal
// half-axes; from above it is TopView. A head without size is a sphere.
func SideView(model head.Ellipsoid, from View) Projection {
	p := TopView(model)
	if from == Top {
		return p
	}
	if model == (head.Ellipsoid{}) {
		model = head.Sphere(1)
	}
	half := r3.Scale(1/max(model.Right, model.Front), r3.Vec{X: model.Right, Y: model.Front, Z: model.Up})
	p.View, p.half = from, half
	p.Right, p.Front = half.X, half.Z
	if from == Left || from == Right {
		p.Right = half.Y
	}
	return p
}

// toward turns a direction from the head's centre into the view's axes: right,
// up and to the eye, as a point of the unit sphere that the head's surface is
// stretched from.
func (p Projection) toward(direction r3.Vec) r3.Vec {
	q := r3.Unit(r3.Vec{X: direction.X / p.half.X, Y: direction.Y / p.half.Y, Z: direction.Z / p.half.Z})
	v := views[p.View]
	return r3.Vec{X: r3.Dot(q, v.across), Y: r3.Dot(q, v.up), Z: r3.Dot(q, v.toward)}
}

// away is the inverse of toward, a unit direction.
func (p Projection) away(q r3.Vec) r3.Vec {
	v := views[p.View]
	d := r3.Add(r3.Add(r3.Scale(q.X, v.across), r3.Scale(q.Y, v.up)), r3.Scale(q.Z, v.toward))
	return r3.Unit(r3.Vec{X: d.X * p.half.X, Y: d.Y * p.half.Y, Z: d.Z * p.half.Z})
}

// Visible reports whether a direction meets the head on the side that is seen.
// The rim counts, to half a degree.
func (p Projection) Visible(direction r3.Vec) bool {
	const rim = .0087
	return p.View == Top || p.toward(direction).Z > -rim
}

// chartOf gives the place of a direction on the view's chart, the disc on which
// fields are computed: for a top view the map itself, its edge on the unit
// circle; for a side view the half of the head that is seen, azimuthal and
// equidistant about the eye's axis, where the field is smooth up to the rim and
// beyond, which it is not on the page.
func (p Projection) chartOf(direction r3.Vec) r2.Vec {
	if p.View == Top {
		return p.Disc().Project(direction)
	}
	q := p.toward(direction)
	across := math.Hypot(q.X, q.Y)
	if across == 0 {
		return r2.Vec{}
	}
	radius := math.Atan2(across, q.Z) / (math.Pi / 2)
	return r2.Vec{X: radius * q.X / across, Y: radius * q.Y / across}
}

// fromChart is the unit direction at a place on the chart.
func (p Projection) fromChart(at r2.Vec) r3.Vec {
	if p.View == Top {
		return p.Disc().Direction(at)
	}
	radius := r2.Norm(at)
	if radius == 0 {
		return p.away(r3.Vec{Z: 1})
	}
	sin, cos := math.Sincos(radius * math.Pi / 2)
	return p.away(r3.Vec{X: at.X / radius * sin, Y: at.Y / radius * sin, Z: cos})
}

// unrolled carries a place on the chart to the page, in units of the half-axes.
func (p Projection) unrolled(at r2.Vec) r2.Vec {
	radius := r2.Norm(at)
	if p.View == Top || radius == 0 {
		return at
	}
	return r2.Scale(math.Sin(min(radius, 1)*math.Pi/2)/radius, at)
}

// rolled is the inverse of unrolled out to the rim.
func (p Projection) rolled(at r2.Vec) r2.Vec {
	radius := r2.Norm(at)
	if p.View == Top || radius == 0 {
		return at
	}
	return r2.Scale(math.Asin(min(radius, 1))/(math.Pi/2)/radius, at)
}

// inside is positive where a place on the chart belongs to the map, zero at its
// edge: the unit circle, and in side views the ring through nasion,
// preauricular points and inion as well. It falls by about 1 in the length of
// the chart's radius.
func (p Projection) inside(at r2.Vec) float64 {
	rim := 1 - r2.Norm(at)
	if p.View == Top {
		return rim
	}
	d := p.fromChart(at)
	x, y := 0., 1.
	if across := math.Hypot(d.X, d.Y); across > 0 {
		x, y = d.X/across, d.Y/across
	}
	return min(rim, (p.edge(x, y)-colatitude(d))/(math.Pi/2))
}

// lowestRim is the height at which the ring meets the rim of a side view, in
// half-axes.
func (p Projection) lowestRim() float64 {
	lo, hi := -1., 0.
	for range 60 {
		mid := (lo + hi) / 2
		if p.inside(r2.Vec{X: math.Sqrt(1 - mid*mid), Y: mid}) < -1e-12 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// fromText says where maps are seen from: "above", "the left and the right".
func fromText(list []View) string {
	var texts []string
	for _, v := range list {
		texts = append(texts, views[v].from)
	}
	if n := len(texts); n > 2 {
		texts = slices.Concat(texts[:n-2], []string{texts[n-2] + " and " + texts[n-1]})
		return strings.Join(texts, ", ")
	}
	return strings.Join(texts, " and ")
}
