package digitised

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout/internal/geometry"
)

// Named sites that are turned by an angle between these, in degrees, against
// the landmarks tell that the landmarks are a quarter turn off: no cap turns
// that far, and one that is on back to front turns farther.
const leastQuarter, mostQuarter = 60, 120

// checkOrder refuses landmarks that are each other's by a quarter turn, such as
// NAS where RPA is, where enough sites with names say so.
func (d *digitiser) checkOrder() error {
	if d.placed() || !complete(d.Landmarks) {
		return nil
	}
	var ideal, measured []r3.Vec
	for _, s := range d.Sites {
		if p, ok := onUnitSphere(s.Name); ok && r3.Norm(s.Position) > 0 {
			ideal, measured = append(ideal, p), append(measured, r3.Unit(s.Position))
		}
	}
	if len(ideal) < fewestNamed {
		return nil
	}
	q, ok := geometry.BestRotation(ideal, measured, false)
	if !ok {
		return nil
	}
	agreement := 0.0
	for i, p := range ideal {
		agreement += r3.Dot(q.MulVec(p), measured[i]) / float64(len(ideal))
	}
	about := math.Abs(geometry.RotationVector(q).Z) * 180 / math.Pi
	if agreement < leastAgreement || about < leastQuarter || about > mostQuarter {
		return nil
	}
	return errors.New("the site names are a quarter turn off against NAS, LPA and RPA: are the landmarks in " +
		"another order?")
}
