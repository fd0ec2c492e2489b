package fields

import (
	"context"
	"sync"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/wearer"
	"calotte/render/scalp"
	"calotte/topo/contrast"
)

// CheckPlacement finds what placement does not fit: maps have it in all errors
// only.
func (w *What) CheckPlacement(placement *wearer.Placement) error {
	if placement.Asked() && w.Quantity != option.AllErrors && w.Doubt.Boundary.Of != scalp.AllErrors {
		return console.Usagef("--placement is in the errors of maps: add --field error or --doubt 2error")
	}
	return nil
}

// PlacedRows give rows of maps, one for each average, what not knowing how caps
// sat adds to their errors.
func (f *Fields) PlacedRows(ctx context.Context, rows []scalp.Row, placement *wearer.Placement) error {
	if !placement.Asked() {
		return nil
	}
	for i := range f.Averages {
		units, read, err := f.UnitsOf(ctx, i)
		if err != nil {
			return err
		}
		poses, err := placement.Of(contrast.Sample{Average: f.Averages[i], Units: units}, f.Head.Radius,
			append(read, f.Paths[i]), "")
		if err != nil {
			return err
		}
		c, err := rows[i].Spline.Solve(rows[i].Values)
		if err != nil {
			return err
		}
		var guard sync.Mutex // conditions of a film are computed side by side
		known := map[*r3.Vec]*mat.Dense{}
		rows[i].Placement = func(points []r3.Vec) (*mat.Dense, error) {
			guard.Lock()
			defer guard.Unlock()
			var err error
			if known[&points[0]] == nil {
				known[&points[0]], err = poses.FieldErrors(f.Averages[i].Info, rows[i].Spline, c,
					points)
			}
			return known[&points[0]], err
		}
	}
	return nil
}
