package head

import "gonum.org/v1/gonum/spatial/r3"

// Mean is the ellipsoid between the two sides, e itself.
func (e Ellipsoid) Mean() Ellipsoid { return e }

// Mean is the ellipsoid between the two sides.
func (h TwoHalves) Mean() Ellipsoid {
	return Ellipsoid{Right: (h.Left.Right + h.Right.Right) / 2, Front: h.Left.Front, Up: h.Left.Up}
}

// ToUnit maps each side, and the space on it, to the unit sphere.
func (h TwoHalves) ToUnit(p r3.Vec) r3.Vec { return h.Side(p).ToUnit(p) }
