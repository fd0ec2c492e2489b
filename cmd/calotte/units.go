package main

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/cmd/internal/archive"
	"calotte/render"
	"calotte/topo"
	"calotte/topo/erp"
)

// findUnits loads what each average is the mean of: the epochs that were saved with it,
// or the participants of a grand average.
func (f *fields) findUnits() error {
	for i, avg := range f.averages {
		units, read, err := f.unitsOf(i)
		if err != nil {
			return err
		}
		if len(units) < 2 {
			return fmt.Errorf("%s: its errors need what it is the mean of, two or more: average with --save-epochs, or give a grand average", f.paths[i])
		}
		f.files = append(f.files, read...)
		for k, u := range units {
			if !slices.Equal(u.Sites, avg.Sites) || len(u.Times) != len(avg.Times) {
				return fmt.Errorf("%s: number %d of the %d behind it has other sites or samples: errors cannot be had", f.paths[i], k+1, len(units))
			}
		}
		f.units = append(f.units, units)
	}
	return nil
}

func (f *fields) unitsOf(i int) (units []*erp.Average, read []string, err error) {
	avg, path := f.averages[i], f.paths[i]
	if avg.Info.Kind == erp.GrandAverage {
		if avg.Info.Weighted {
			return nil, nil, fmt.Errorf("%s is weighted by epochs, and its errors between the sites are not defined here: combine without --weighted", path)
		}
		units, read, err = archive.LoadMembers(path, avg.Info, f.folders)
	} else {
		units, read, err = epochsAsAverages(path)
	}
	if err != nil || f.rereference.reference.String() == "recorded" {
		return units, read, err
	}
	for k, u := range units {
		step, err := f.rereference.reference.Linear(u.Sites)
		if err != nil {
			return nil, nil, err
		}
		if units[k], err = u.Through(step, nil); err != nil {
			return nil, nil, err
		}
	}
	return units, read, nil
}

// epochsAsAverages are the saved epochs of a person's average, one by one.
func epochsAsAverages(path string) (units []*erp.Average, read []string, err error) {
	epochs, read, err := archive.LoadEpochs(path)
	if err != nil || epochs == nil {
		return nil, nil, err
	}
	times := epochs.Window.Times()
	for k := range epochs.Len() {
		samples, _ := epochs.At(k)
		units = append(units, &erp.Average{Sites: epochs.Sites, Times: times, Mean: samples})
	}
	return units, read, nil
}

// spread returns, for each latency, the deviations of the units behind an average from
// their mean over √(n(n−1)), site × unit, whose product with its transpose is the
// covariance of the mean; and the degrees of freedom.
func (f *fields) spread(i int) ([]mat.Matrix, int, error) {
	n := len(f.units[i])
	var out []mat.Matrix
	for _, at := range f.at {
		scores := mat.NewDense(len(f.averages[i].Sites), n, nil)
		for k, u := range f.units[i] {
			values, err := u.At(at)
			if err != nil {
				return nil, 0, err
			}
			scores.SetCol(k, values)
		}
		for row := range len(f.averages[i].Sites) {
			values := scores.RawRowView(row)
			mean := 0.0
			for _, x := range values {
				mean += x / float64(n)
			}
			for k, x := range values {
				values[k] = (x - mean) / math.Sqrt(float64(n)*float64(n-1))
			}
		}
		out = append(out, scores)
	}
	return out, n - 1, nil
}

// sure replaces values, point × latency, by t, the standard errors or the agreement there.
func (f *fields) sure(values *mat.Dense, spline *topo.Spline, points []r3.Vec, i int) error {
	spreads, _, err := f.spread(i)
	if err != nil {
		return err
	}
	for j, s := range spreads {
		c, err := spline.Solve(s)
		if err != nil {
			return err
		}
		parts := spline.Interpolate(points, topo.Potential, c)
		for k := range points {
			v := f.quantity.of(values.At(k, j), parts.RawRowView(k))
			if math.IsNaN(v) {
				return fmt.Errorf("%s: all epochs or people are the same, so there is no error to divide by", f.paths[i])
			}
			values.Set(k, j, v)
		}
	}
	return nil
}

// of is the quantity at a point, from the mean and the deviations of the units there as
// spread scales them.
func (q quantity) of(mean float64, deviations []float64) float64 {
	if q == agreement {
		return render.Agreeing(mean, deviations)
	}
	sem := floats.Norm(deviations, 2)
	switch {
	case q == standardErrors:
		return sem
	case sem > 0:
		return mean / sem
	}
	return math.NaN()
}
