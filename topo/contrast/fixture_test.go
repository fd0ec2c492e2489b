package contrast_test

import (
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/topo"
)

func positions(sites []layout.Site) []r3.Vec {
	var out []r3.Vec
	for _, s := range sites {
		out = append(out, s.Position)
	}
	return out
}

// interpolated are the potentials at some sites.
func interpolated(spline *topo.Spline, values []float64, at []layout.Site) (*mat.Dense, error) {
	c, err := spline.Solve(mat.NewVecDense(len(values), values))
	if err != nil {
		return nil, err
	}
	return spline.Interpolate(positions(at), topo.Potential, c), nil
}
