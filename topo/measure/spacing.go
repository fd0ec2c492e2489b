package measure

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Spacing of electrodes is the median angle, in radians at the centre of the
// head, from one to the nearest other. Positions may have any length. It is NaN
// of none, and π of one.
func Spacing(positions []r3.Vec) float64 {
	units := make([]r3.Vec, len(positions))
	for i, p := range positions {
		units[i] = r3.Unit(p)
	}
	nearest := make([]float64, len(units))
	for i, p := range units {
		most := -1. // cosine
		for j, q := range units {
			if i != j {
				most = max(most, r3.Dot(p, q))
			}
		}
		nearest[i] = math.Acos(min(most, 1))
	}
	return Median(nearest)
}
