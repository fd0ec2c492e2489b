package contrast

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A CapMove is a way in which a whole cap sits wrong: a turn about one of the
// head's axes.
type CapMove int

const (
	CapToSide  CapMove = iota // to the wearer's left: Cz slides to the left
	CapForward                // Cz slides to the front
	CapTwisted                // about the vertical, the front to the left
)

var capAxes = [...]r3.Vec{CapToSide: {Y: -1}, CapForward: {X: -1}, CapTwisted: {Z: 1}}

// Turn is the rotation vector of a cap that sits off in this way by an angle in
// radians.
func (m CapMove) Turn(angle float64) r3.Vec { return r3.Scale(angle, capAxes[m]) }

// Turned is where a site of the head lies after the cap has turned by a
// rotation vector in radians, as a cap check finds it.
func Turned(turn r3.Vec) func(site r3.Vec) r3.Vec {
	angle := r3.Norm(turn)
	if angle == 0 {
		return func(site r3.Vec) r3.Vec { return site }
	}
	rotation := r3.NewRotation(angle, r3.Scale(1/angle, turn))
	return rotation.Rotate
}

// Stretched is where a site of the head lies on a cap whose left half is
// stretched away from the midline, by an angle in radians at T7 and elsewhere
// in proportion to the way from the midline. The right half stays.
func Stretched(angle float64) func(site r3.Vec) r3.Vec {
	return func(site r3.Vec) r3.Vec {
		left := math.Asin(min(1, max(0, -site.X/r3.Norm(site)))) // 0 at the midline and right of it
		axis := r3.Cross(site, r3.Vec{X: -1})
		if left == 0 || r3.Norm(axis) == 0 {
			return site
		}
		return r3.NewRotation(angle*left/(math.Pi/2), r3.Unit(axis)).Rotate(site)
	}
}
