package page

import (
	"slices"

	"gonum.org/v1/gonum/mat"

	"calotte/render/scalp"
	"calotte/topo"
)

// know finds what the electrodes know of all conditions at all samples, which
// one territory is drawn for: it does not change as the cursor moves.
func (s *Study) know() (*scalp.Knowledge, error) {
	var rows []scalp.Row
	for _, c := range s.Conditions {
		values := mat.NewDense(len(s.Sites), len(s.Times), nil)
		for i, row := range c.Values {
			values.SetRow(i, slices.Clone(row))
		}
		rows = append(rows, scalp.Row{Title: c.Title, Spline: s.Spline, Values: values})
	}
	known, err := scalp.Know(rows, topo.Overhang)
	if err != nil {
		return nil, err
	}
	return known[0], nil
}
