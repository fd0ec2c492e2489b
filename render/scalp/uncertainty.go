package scalp

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"calotte/topo"
	"calotte/topo/contrast"
)

// With S a row's spread, S Sᵀ the covariance Σ of the mean at the sites, and w
// the weights of the sites at a point, the standard error there is √(wᵀ Σ w) =
// |Sᵀ w|, the root of the sum of the squares of what the spline makes of each
// column of S. It says how sure the mean is there, not how wrong the
// interpolation is: that is topo.Ignorance. Both together are the root of the
// sum of their squares, where the noise of the electrodes counts once, in the
// first.

// sure replaces values, point × panel, by what the sheet shows of them, and
// returns how many errors they are from zero where the sheet has a boundary.
func (s *Sheet) sure(values *mat.Dense, panels []*panel) (ratios *mat.Dense, err error) {
	if s.Boundary.Errors > 0 {
		rows, columns := values.Dims()
		ratios = mat.NewDense(rows, columns, nil)
	}
	for i, p := range panels {
		row := &s.Rows[p.row]
		shown, err := p.shown(s, mat.Col(nil, i, values))
		if err == nil && ratios != nil {
			var errors []float64
			if errors, err = p.boundaryErrors(s); err == nil {
				err = over(mat.Col(nil, i, values), errors)
				ratios.SetCol(i, errors)
			}
		}
		if err != nil {
			return nil, fmt.Errorf("row %d (%q) at %s: %w", p.row+1, row.Title, s.Columns[p.column], err)
		}
		values.SetCol(i, shown)
	}
	return ratios, nil
}

// boundaryErrors are what the sheet's boundary is told in, at the points of the
// panel's reach. Those of the interpolation come from the coarser grid of the
// reach, which costs nothing more.
func (p *panel) boundaryErrors(s *Sheet) ([]float64, error) {
	if s.Boundary.Of != InterpolationErrors {
		return s.Rows[p.row].Errors(p.column, s.Boundary.Of, s.Quantity, p.knowledge, p.reach)
	}
	sigma := math.Sqrt(p.knowledge.Rough.Variances[p.column])
	list := make([]float64, len(p.reach.points))
	for i := range list {
		list[i] = sigma // at the sites, which have no part in the boundary
		if i < len(p.reach.nodes) {
			list[i] *= p.reach.nodes[i].unit
		}
	}
	return list, nil
}

// shown is what the sheet shows of a panel's means at the points of its reach.
func (p *panel) shown(s *Sheet, means []float64) ([]float64, error) {
	row := &s.Rows[p.row]
	switch {
	case s.Shows.isError():
		return row.Errors(p.column, s.Shows, s.Quantity, p.knowledge, p.reach)
	case s.Shows == TValues:
		errors, err := row.Errors(p.column, StandardErrors, s.Quantity, p.knowledge, p.reach)
		if err != nil {
			return nil, err
		}
		return errors, over(means, errors)
	case s.Shows == Agreement:
		parts, err := row.deviations(p.column, s.Quantity, p.reach)
		if err != nil {
			return nil, err
		}
		unit := 1.
		if n := s.agreeing(); n > 0 {
			unit = float64(n) / 100
		}
		for k := range means {
			means[k] = unit * contrast.Agreeing(means[k], parts.RawRowView(k))
		}
	}
	return means, nil
}

// over replaces errors by how often they go into the means.
func over(means, deviations []float64) error {
	for k, e := range deviations {
		if e == 0 {
			return errors.New("all epochs or people are the same, so there is no error to divide by")
		}
		deviations[k] = means[k] / e
	}
	return nil
}

// Errors are those of a column's values, as a showing of errors says, at the
// points of a reach: the grid's directions, then the row's sites. Those of
// sampling take the row's Spread.
func (r *Row) Errors(column int, of Showing, q topo.Quantity, k *Knowledge, reach *Reach) ([]float64, error) {
	list := make([]float64, len(reach.points))
	var ignorance []topo.Ignorance
	if of != StandardErrors {
		var err error
		if ignorance, err = reach.ignorance(); err != nil {
			return nil, err
		}
	}
	if of != InterpolationErrors {
		parts, err := r.deviations(column, q, reach)
		if err != nil {
			return nil, err
		}
		for i := range list {
			for _, x := range parts.RawRowView(i) {
				list[i] += x * x
			}
		}
	}
	placement := make([]float64, len(reach.points))
	if of == AllErrors && r.Placement != nil {
		changes, err := r.Placement(reach.points)
		if err != nil {
			return nil, err
		}
		mat.Col(placement, column, changes)
	}
	variance := k.Rough.Variances[column]
	for i := range list {
		switch of {
		case InterpolationErrors:
			list[i] = ignorance[i].Against(variance, k.Rough.Nugget)
		case AllErrors:
			list[i] = contrast.Uncertainty{Sampling: math.Sqrt(list[i]),
				Interpolation: ignorance[i].OfField(variance), Placement: placement[i]}.Total()
		default:
			list[i] = math.Sqrt(list[i])
		}
	}
	return list, nil
}

// deviations are what the spline makes of the columns of a spread, point ×
// epoch or person.
func (r *Row) deviations(column int, q topo.Quantity, reach *Reach) (*mat.Dense, error) {
	c, err := r.Spline.Solve(r.Spread[column])
	if err != nil {
		return nil, err
	}
	return evaluate(r.Spline, reach.points, q, c.Dense), nil
}
