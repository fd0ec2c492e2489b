package geometry

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// QuarterPerimeter returns a quarter of the perimeter of the ellipse with two
// semi-axes.
func QuarterPerimeter(p, q float64) float64 {
	p, q = max(p, q), min(p, q)
	return p * mathext.CompleteE((p-q)*(p+q)/(p*p))
}

// PositiveTurn brings an angle into [0, 2π).
func PositiveTurn(angle float64) float64 {
	angle = math.Mod(angle, 2*math.Pi)
	if angle < 0 {
		angle += 2 * math.Pi
	}
	return angle
}
