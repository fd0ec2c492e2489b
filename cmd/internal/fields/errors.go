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
type known struct {
	rows      []scalp.Row
	knowledge []*scalp.Knowledge // of each row
}

func (f *Fields) know() (*known, error) {
	titles, err := f.Titles()
	if err != nil {
		return nil, err
	}
	k := &known{}
	for i, avg := range f.Averages {
		row, err := f.Row(i, avg, titles[i])
		if err != nil {
			return nil, err
		}
		k.rows = append(k.rows, row)
	}
	k.knowledge, err = scalp.Know(k.rows, topo.Overhang)
	return k, err
}

// Errors are those of one average's potentials at some points, point × latency
// in µV: of the interpolation, or where the quantity is all errors, of sampling
// as well.
func (f *Fields) Errors(index int, points []r3.Vec) (*mat.Dense, error) {
	known, err := f.known()
	if err != nil {
		return nil, err
	}
	k := known.knowledge[index]
	ignorance, err := k.Spline.Ignorance(points)
	if err != nil {
		return nil, err
	}
	out := mat.NewDense(len(points), len(f.At), nil)
	if f.Quantity == option.AllErrors {
		sampling, err := f.Sample(index).Certainties(contrast.StandardError, nil, known.rows[index].Spline,
			points,
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
				e = contrast.Uncertainty{Sampling: out.At(i, j),
					Interpolation: ignorance[i].OfField(variance)}.Total()
			}
			out.Set(i, j, e)
		}
	}
	return out, nil
}

// Departing are the electrodes that depart from what the others predict, a
// sentence each.
func (f *Fields) Departing() ([]string, error) {
	known, err := f.known()
	if err != nil {
		return nil, err
	}
	var texts []string
	for i, k := range known.knowledge {
		row := known.rows[i]
		found, err := k.Departures(row.Values)
		if err != nil {
			return nil, err
		}
		for column, list := range found {
			for _, d := range list {
				texts = append(texts, fmt.Sprintf("%s, %s at %s: %.2g µV off what the others "+
					"predict, %.2g "+
					"times its error", row.Title, row.Marks[d.Site].Site.Name,
					f.Windows.Label(f.At[column]), d.Residual, math.Abs(d.Z)))
			}
		}
	}
	return texts, nil
}
