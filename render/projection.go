package render

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// edgeColatitude is the angle from the vertex to the edge of a map: the ring
// through nasion, preauricular points and inion. On the sphere 10 % of the
// nasion-inion arc is 22.5° and the ring lies that far below the equator.
const edgeColatitude = 112.5 * math.Pi / 180

// ringRadius is where the equator, the ring of the 10-20 system through Fpz,
// T7, Oz and T8, lies on the unit disc.
const ringRadius = math.Pi / 2 / edgeColatitude

// A Projection lays directions from the head's centre on the page: azimuthal
// equidistant about the vertex, x to the wearer's right, y to the front.
// Right and Front are the half-axes of the map's edge; the projection of the
// unit disc is Projection{1, 1}. With unequal half-axes the disc is stretched
// to the head's own proportions, so that lengths along the midline and along
// the coronal line each keep one scale.
type Projection struct{ Right, Front float64 }

// unitDisc is the projection on which fields and contours are computed.
var unitDisc = Projection{Right: 1, Front: 1}

// TopView is the projection seen from above of a head with the given
// half-axes, in any one unit, scaled so that the longer is 1. Half-axes that
// are not positive give the round outline of a sphere.
func TopView(right, front float64) Projection {
	longer := max(right, front)
	if !(min(right, front) > 0) || math.IsInf(longer, 1) {
		return unitDisc
	}
	return Projection{Right: right / longer, Front: front / longer}
}

// Project gives the place on the page of a direction of any length but zero.
// The direction straight down has no one place and is put in front.
func (p Projection) Project(direction r3.Vec) r2.Vec {
	across := math.Hypot(direction.X, direction.Y)
	radius := math.Atan2(across, direction.Z) / edgeColatitude
	if across == 0 {
		return r2.Vec{X: 0, Y: p.Front * radius}
	}
	return r2.Vec{
		X: p.Right * radius * direction.X / across,
		Y: p.Front * radius * direction.Y / across,
	}
}

// Direction gives the unit direction that Project puts at v. It is the inverse
// of Project out to the direction straight down.
func (p Projection) Direction(v r2.Vec) r3.Vec {
	x, y := v.X/p.Right, v.Y/p.Front
	radius := math.Hypot(x, y)
	if radius == 0 {
		return r3.Vec{Z: 1}
	}
	sin, cos := math.Sincos(radius * edgeColatitude)
	return r3.Vec{X: x / radius * sin, Y: y / radius * sin, Z: cos}
}
