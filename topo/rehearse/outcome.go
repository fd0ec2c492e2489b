package rehearse

import (
	"context"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"calotte/topo/inference"
)

// An Outcome is what rehearsals of an effect came to, in one reading.
type Outcome struct {
	Found   int     // rehearsals whose p is .05 or less
	Covered int     // whose 95 % interval by t holds the truth
	Bias    float64 // the mean of what was found less the truth, µV
	Error   float64 // the root mean square of that difference, µV
}

// With is the outcome of an effect of a size in µV, reading by reading.
func (r *Rehearsals) With(ctx context.Context, size float64) ([]Outcome, error) {
	data := r.differences(size)
	design, err := inference.Paired(r.People)
	if err != nil {
		return nil, err
	}
	test, err := inference.TestLargest(ctx, design, data, r.study.Test)
	if err != nil {
		return nil, err
	}
	readings := len(r.study.Effect)
	out := make([]Outcome, readings)
	column := make([]float64, r.People)
	for point, p := range test.P {
		o, truth := &out[point%readings], size*r.study.Effect[point%readings]
		if p <= .05 {
			o.Found++
		}
		mat.Col(column, point, data)
		low, high, err := inference.TInterval(column, .95)
		if err != nil {
			return nil, err
		}
		if low <= truth && truth <= high {
			o.Covered++
		}
		off := stat.Mean(column, nil) - truth
		o.Bias += off / float64(r.Count)
		o.Error += off * off / float64(r.Count)
	}
	for j := range out {
		out[j].Error = math.Sqrt(out[j].Error)
	}
	return out, nil
}

// differences are what the people of all rehearsals show of an effect.
func (r *Rehearsals) differences(size float64) *mat.Dense {
	readings := len(r.study.Effect)
	data := mat.DenseCopyOf(r.noise)
	for k := range r.People {
		row := data.RawRowView(k)
		for point := range row {
			row[point] += (size + r.personal.At(k, point/readings)) * r.study.Effect[point%readings]
		}
	}
	return data
}

// mostEffect in µV is larger than any that is looked for on a scalp.
const mostEffect = 1000

// Smallest is the smallest size of an effect, in µV to 0.01, that a share of
// the rehearsals finds in the first reading; infinite where none below 1 mV is.
func (r *Rehearsals) Smallest(ctx context.Context, share float64) (float64, error) {
	found := func(size float64) (bool, error) {
		out, err := r.With(ctx, size)
		return err == nil && float64(out[0].Found) >= share*float64(r.Count), err
	}
	low, high := 0., 1.
	for {
		ok, err := found(high)
		if err != nil {
			return 0, err
		}
		if ok {
			break
		}
		if low, high = high, 2*high; high > mostEffect {
			return math.Inf(1), nil
		}
	}
	for high-low > .01 {
		middle := (low + high) / 2
		ok, err := found(middle)
		if err != nil {
			return 0, err
		}
		if ok {
			high = middle
		} else {
			low = middle
		}
	}
	return high, nil
}
