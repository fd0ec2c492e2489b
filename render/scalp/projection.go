package scalp

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout/head"
)

// EdgeColatitude is the angle from the vertex to the edge of a map of a sphere:
// the ring through nasion, preauricular points and inion. 10 % of the
// nasion-inion arc is 22.5° and the ring lies that far below the equator.
const EdgeColatitude = 112.5 * math.Pi / 180

// A Projection lays directions from the head's centre on the page. Seen from
// above it is azimuthal about the vertex, x to the wearer's right, y to the
// front; the sides are orthographic (SideView).
//
// From above, Right and Front are the half-axes of the map's edge on the page.
// EdgeFront and EdgeSide are the angles from the vertex to the edge, in
// radians, at the nasion (and inion) and at the preauricular points; between
// them the angle follows the square of the cosine of the azimuth, as the lower
// ring does to first order. On a sphere the two are equal and the projection is
// what its Spacing says everywhere; on other heads it is along the midline and
// along the coronal line. Of a side view Right and Front are the half-axes of
// the head's outline, across and up.
type Projection struct {
	Right, Front, EdgeFront, EdgeSide float64

	View    View
	Spacing Spacing // of a top view

	half r3.Vec // of a side view: the head's half-axes
}

// OnDisc is the projection of a sphere on the unit disc.
var OnDisc = Projection{Right: 1, Front: 1, EdgeFront: EdgeColatitude, EdgeSide: EdgeColatitude}

// TopView is the projection of a head seen from above, with the head's own
// proportions: the longer half-axis is 1. A head without size is a sphere.
func TopView(model head.Ellipsoid) Projection {
	if model == (head.Ellipsoid{}) {
		return OnDisc
	}
	marks := model.Landmarks()
	longer := max(model.Right, model.Front)
	return Projection{
		Right: model.Right / longer, Front: model.Front / longer,
		EdgeFront: colatitude(marks.Nasion), EdgeSide: colatitude(marks.RightPreauricular),
	}
}

// Disc is the same projection stretched to the unit disc, on which fields and
// contours are computed.
func (p Projection) Disc() Projection {
	p.Right, p.Front = 1, 1
	return p
}

func colatitude(d r3.Vec) float64 { return math.Atan2(math.Hypot(d.X, d.Y), d.Z) }

// edge is the angle from the vertex to the edge in the direction (x, y) of
// length 1.
func (p Projection) edge(x, y float64) float64 { return p.EdgeSide*x*x + p.EdgeFront*y*y }

// Project gives the place on the page of a direction of any length but zero.
// The direction straight down has no one place and is put in front.
func (p Projection) Project(direction r3.Vec) r2.Vec {
	if p.View != Top {
		q := p.toward(direction)
		return r2.Vec{X: p.Right * q.X, Y: p.Front * q.Y}
	}
	x, y := 0., 1.
	if across := math.Hypot(direction.X, direction.Y); across > 0 {
		x, y = direction.X/across, direction.Y/across
	}
	of := spacings[p.Spacing].radius
	radius := of(colatitude(direction)) / of(p.edge(x, y))
	return r2.Vec{X: p.Right * radius * x, Y: p.Front * radius * y}
}

// Direction gives the unit direction that Project puts at v. It is the inverse
// of Project out to the direction straight down, and for a side view on the
// side that is seen, out to the rim.
func (p Projection) Direction(v r2.Vec) r3.Vec {
	x, y := v.X/p.Right, v.Y/p.Front
	if p.View != Top {
		return p.away(r3.Vec{X: x, Y: y, Z: math.Sqrt(max(0, 1-x*x-y*y))})
	}
	radius := math.Hypot(x, y)
	if radius == 0 {
		return r3.Vec{Z: 1}
	}
	x, y = x/radius, y/radius
	of := spacings[p.Spacing]
	sin, cos := math.Sincos(of.inverted(radius * of.radius(p.edge(x, y))))
	return r3.Vec{X: x * sin, Y: y * sin, Z: cos}
}
