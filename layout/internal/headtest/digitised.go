package headtest

import (
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// Digitised is a cap on a head as a digitiser would give it: landmarks first,
// in mm, x right, y front, z up, the origin between the ears.
func Digitised(t *testing.T, s layout.Surface) (points, truth []layout.Site) {
	t.Helper()
	truth = Cap64(t, s)
	l := s.Landmarks()
	ears := r3.Scale(0.5, r3.Add(l.LeftPreauricular, l.RightPreauricular))
	for _, p := range append([]layout.Site{{Name: "NAS", Position: l.Nasion},
		{Name: "LPA", Position: l.LeftPreauricular}, {Name: "RPA", Position: l.RightPreauricular}}, truth...) {
		points = append(points, layout.Site{Name: p.Name, Position: r3.Sub(p.Position, ears)})
	}
	return points, truth
}
