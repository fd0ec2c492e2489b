package fields

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/cmd/internal/option"
	"calotte/render/scalp"
	"calotte/topo"
	"calotte/topo/contrast"
)

// known is what the electrodes of all averages know, judged together as on one
// sheet.
func (f *Fields) known() ([]*scalp.Knowledge, []scalp.Row, error) {
	titles, err := f.Titles()
	if err != nil {
		return nil, nil, err
	}
	var rows []scalp.Row
	for i, avg := range f.Averages {
		row, err := f.Row(i, avg, titles[i])
		if err != nil {
			return nil, nil, err
		}
		rows = append(rows, row)
	}
	known, err := scalp.Know(rows, topo.Overhang)
	return known, rows, err
}

// Errors are those of one average's potentials at some points, point × latency
// in µV: of the interpolation, or where the quantity is all errors, of sampling
// as well.
func (f *Fields) Errors(index int, points []r3.Vec) (*mat.Dense, error) {
	known, rows, err := f.known()
	if err != nil {
		return nil, err
	}
	k := known[index]
	ignorance, err := k.Spline.Ignorance(points)
	if err != nil {
		return nil, err
	}
	out := mat.NewDense(len(points), len(f.At), nil)
	if f.Quantity == option.AllErrors {
		sampling, err := f.Sample(index).Certainties(contrast.StandardError, nil, rows[index].Spline, points,
			f.At)
		if err != nil {
			return nil, err
		}
		out = sampling
	}
	for i := range points {
		for j, variance := range k.Rough.Variances {
			e := ignorance[i].Against(variance, k.Rough.Nugget)
			if f.Quantity == option.AllErrors {
				e = math.Hypot(out.At(i, j), math.Sqrt(variance*ignorance[i].Field))
			}
			out.Set(i, j, e)
		}
	}
	return out, nil
}

// Departing are the electrodes that depart from what the others predict, a
// sentence each.
func (f *Fields) Departing() ([]string, error) {
	known, rows, err := f.known()
	if err != nil {
		return nil, err
	}
	var texts []string
	for i, k := range known {
		found, err := k.Departures(rows[i].Values)
		if err != nil {
			return nil, err
		}
		for column, list := range found {
			for _, d := range list {
				texts = append(texts, fmt.Sprintf("%s, %s at %s: %.2g µV off what the others "+
					"predict, %.2g "+
					"times its error", rows[i].Title, rows[i].Marks[d.Site].Site.Name,
					f.Windows.Label(f.At[column]), d.Residual, math.Abs(d.Z)))
			}
		}
	}
	return texts, nil
}
