package scan

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// Distance returns the length of the tape in the plane through two points and
// the origin. The shortest tape leaves that plane a little; between
// neighbouring sites of an ellipsoid it is shorter by less than 0.1 mm.
func (s *Scan) Distance(from, to r3.Vec) (float64, error) {
	p, ok := planeThrough(r3.Vec{}, from, to)
	if !ok || r3.Cos(from, to) < math.Cos(layout.WidestDistance) {
		if from == to {
			return 0, nil
		}
		return 0, layout.ErrWide
	}
	nearest, at := nearestChain(s.mesh.cut(p), from)
	end := nearest.locate(to)
	if max(at.distance, end.distance) > hollow {
		return 0, errors.New("the scan has a hole between the two points")
	}
	for _, c := range []chain{nearest, nearest.reversed()} {
		f, t := c.locate(from).at, c.locate(to).at
		if f > t && !c.closed {
			continue
		}
		// The way round the other side has its middle there.
		way := c.between(f, t)
		if len(way) == 0 || r3.Dot(way[len(way)/2], r3.Add(from, to)) > 0 {
			return newTapeArc(taut(p, from, way, to), from, p, s.mesh).Length(), nil
		}
	}
	return 0, errors.New("the scan has a hole between the two points")
}
