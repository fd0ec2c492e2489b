package contrast

import (
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/topo"
)

// A CapMove is a way in which a whole cap sits wrong: a turn about one of the
// head's axes.
type CapMove int

const (
	CapToSide  CapMove = iota // to the wearer's left: Cz slides to the left
	CapForward                // Cz slides to the front
	CapTwisted                // about the vertical, the front to the left
)

func (m CapMove) String() string {
	return [...]string{"to the left", "forward", "twisted, the front to the left"}[m]
}

var capAxes = [...]r3.Vec{CapToSide: {Y: -1}, CapForward: {X: -1}, CapTwisted: {Z: 1}}

// Moved is where a site of the head lies after the cap has turned by an angle
// in radians.
func (m CapMove) Moved(site r3.Vec, angle float64) r3.Vec {
	return r3.NewRotation(angle, capAxes[m]).Rotate(site)
}

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

// CapChange is by how much the potential at right less that at left, in µV,
// would change had the cap sat otherwise: the field that the coefficients give
// is read at the moved sites. Of sources near the scalp the field between few
// electrodes is known only roughly, and so is the change: with 64 sites and
// sources at 0.75 of the radius no more than its size, below 32 sites it is
// indicative only.
func CapChange(spline *topo.Spline, c *topo.Coefficients, left, right r3.Vec, moved func(r3.Vec) r3.Vec) []float64 {
	values := spline.Interpolate([]r3.Vec{left, right, moved(left), moved(right)}, topo.Potential, c)
	_, columns := values.Dims()
	out := make([]float64, columns)
	for j := range out {
		out[j] = (values.At(3, j) - values.At(2, j)) - (values.At(1, j) - values.At(0, j))
	}
	return out
}
