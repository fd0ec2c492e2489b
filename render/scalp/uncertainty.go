package scalp

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/topo"
	"calotte/topo/contrast"
)

// With S a row's spread, S Sᵀ the covariance Σ of the mean at the sites, and w
// the weights of the sites at a point, the standard error there is √(wᵀ Σ w) =
// |Sᵀ w|, the root of the sum of the squares of what the spline makes of each
// column of S. It says how sure the mean is there, not how wrong the
// interpolation is.

// sure replaces values, point × panel, by what the sheet shows of them, and
// returns t where the sheet fades.
func (s *Sheet) sure(values *mat.Dense, spline *topo.Spline, points []r3.Vec,
	panels []*panel) (t *mat.Dense, err error) {
	if s.Fade > 0 {
		t = mat.NewDense(len(points), len(panels), nil)
	}
	for i, p := range panels {
		row := &s.Rows[p.row]
		c, err := spline.Solve(row.Spread[p.column])
		if err != nil {
			return nil, fmt.Errorf("row %d (%q): %w", p.row+1, row.Title, err)
		}
		parts := evaluate(spline, points, s.Quantity, mat.DenseCopyOf(c))
		for k := range points {
			mean, deviations := values.At(k, i), parts.RawRowView(k)
			shown, ratio := s.shown(mean, deviations)
			if math.IsNaN(shown) || math.IsNaN(ratio) {
				return nil, fmt.Errorf("row %d (%q) at %s: all epochs or people are the same, so "+
					"there is no error "+
					"to divide by", p.row+1, row.Title, s.Columns[p.column])
			}
			values.Set(k, i, shown)
			if t != nil {
				t.Set(k, i, ratio)
			}
		}
	}
	return t, nil
}

// shown is what the sheet shows at a point, and t there; NaN where an error of
// zero leaves it without a value.
func (s *Sheet) shown(mean float64, deviations []float64) (shown, t float64) {
	squares := 0.0
	for _, x := range deviations {
		squares += x * x
	}
	switch s.Shows {
	case StandardErrors:
		return math.Sqrt(squares), 0
	case Agreement:
		return contrast.Agreeing(mean, deviations), 0
	}
	t = math.NaN()
	if squares > 0 {
		t = mean / math.Sqrt(squares)
	}
	if s.Shows == TValues {
		return t, t
	}
	return mean, t
}
