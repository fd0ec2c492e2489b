package render

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/topo"
)

// overErrors divides values, point × panel, by their standard errors. With S a row's
// spread, S Sᵀ the covariance Σ of the mean at the sites, and w the weights of the sites
// at a point, the error there is √(wᵀ Σ w) = |Sᵀ w|, which is the root of the sum of the
// squares of what the spline makes of each column of S. It says how sure the mean is
// there, not how wrong the interpolation is.
func (s *Sheet) overErrors(values *mat.Dense, spline *topo.Spline, points []r3.Vec, panels []*panel) error {
	for i, p := range panels {
		row := &s.Rows[p.row]
		c, err := spline.Solve(row.Spread[p.column])
		if err != nil {
			return fmt.Errorf("row %d (%q): %w", p.row+1, row.Title, err)
		}
		parts := evaluate(spline, points, topo.Potential, mat.DenseCopyOf(c))
		for k := range points {
			squares := 0.0
			for _, x := range parts.RawRowView(k) {
				squares += x * x
			}
			if !(squares > 0) {
				return fmt.Errorf("row %d (%q) at %s: all epochs or people are the same, so there is no error to divide by", p.row+1, row.Title, s.Columns[p.column])
			}
			values.Set(k, i, values.At(k, i)/math.Sqrt(squares))
		}
	}
	return nil
}
