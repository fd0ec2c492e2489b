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
	"calotte/topo/contrast"
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

// unitsOf are the people behind an average or the epochs saved with it, none where they
// are not at hand, and the files that were read.
func (f *fields) unitsOf(i int) (units []*erp.Average, read []string, err error) {
	if f.averages[i].Info.Kind == erp.GrandAverage {
		return f.peopleOf(i)
	}
	epochs, read, err := archive.LoadEpochs(f.paths[i])
	if err != nil || epochs == nil {
		return nil, nil, err
	}
	units, err = f.rereferenced(contrast.Epochs(epochs))
	return units, read, err
}

// peopleOf are those behind a grand average; there are none behind others.
func (f *fields) peopleOf(i int) (people []*erp.Average, read []string, err error) {
	avg, path := f.averages[i], f.paths[i]
	switch {
	case avg.Info.Kind != erp.GrandAverage:
		return nil, nil, nil
	case avg.Info.Weighted:
		return nil, nil, fmt.Errorf("%s is weighted by epochs, and its errors between the sites are not defined here: combine without --weighted", path)
	}
	if people, read, err = archive.LoadMembers(path, avg.Info, f.folders); err != nil {
		return nil, nil, err
	}
	people, err = f.rereferenced(people)
	return people, read, err
}

// rereferenced gives units the reference that is asked for.
func (f *fields) rereferenced(units []*erp.Average) ([]*erp.Average, error) {
	if f.rereference.reference.String() == "recorded" {
		return units, nil
	}
	out := make([]*erp.Average, len(units))
	for k, u := range units {
		step, err := f.rereference.reference.Linear(u.Sites)
		if err != nil {
			return nil, err
		}
		if out[k], err = u.Through(step, nil); err != nil {
			return nil, err
		}
	}
	return out, nil
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
