package guide

import (
	"errors"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// surfaceDistance is the length of a tape between two points.
func surfaceDistance(s layout.Surface, a, b r3.Vec) (float64, error) {
	e, ok := s.(layout.Ellipsoid)
	if !ok {
		return 0, errors.New("no distances on this surface")
	}
	m := r3.Scale(.5, r3.Add(a, b))
	u := r3.Norm(r3.Vec{X: m.X / e.Right, Y: m.Y / e.Front, Z: m.Z / e.Up})
	arc, err := s.Section(a, r3.Scale(1/u, m), b)
	if err != nil {
		return 0, err
	}
	return arc.Length(), nil
}
