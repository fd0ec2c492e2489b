package unmix

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Options of a separation.
type Options struct {
	Components int     // at most; 0: as many as the data have dimensions
	Floor      float64 // variance in µV² at which a direction holds nothing, such as the steps of a converter

	start *mat.Dense // dimension × dimension; nil: the dimensions themselves
}

// A Separation is the components of some data.
type Separation struct {
	Weights    *mat.Dense // component × row: what makes components of variance one out of µV
	Maps       *mat.Dense // row × component: µV of a component's value of one
	Samples    int        // that it rests on
	Dimensions int        // of the data, of which as many as there are components were separated

	Steps    int     // that were taken
	Gradient float64 // root mean square of its elements
	Wanted   float64 // the gradient at which it is done
	Reached  bool    // whether the gradient is within that
}

// wanted is a twentieth of the sampling error that an element of the gradient
// has, 1/√samples: what is left of the way is far below what other samples of
// the same sources would change. Components that are near normal hold a descent
// up long after that, and are not found better by it.
func wanted(samples int) float64 { return 0.05 / math.Sqrt(float64(samples)) }

// mostSteps is more than any data that we saw took, tenfold.
const mostSteps = 1000

// Of the samples, in squares of the components: what is refused and what is
// said to be few (common practice, no source).
const (
	tooFew = 5
	few    = 20
)

// approaches are shares of the samples, in squares of the components, on which
// most of the way is gone: a step costs less there.
var approaches = []int{2, tooFew, few}

// Separate takes data, row × sample in µV, apart. Data that are too short for
// their components, not finite, or of fewer than two dimensions are errors. The
// data are left as they are; a copy of them is made.
func Separate(ctx context.Context, data [][]float64, o Options) (*Separation, error) {
	if len(data) < 2 || len(data[0]) == 0 {
		return nil, fmt.Errorf("%d sites: two or more are needed to take something apart", len(data))
	}
	w, err := whiten(data, o.Components, o.Floor)
	if err != nil {
		return nil, err
	}
	if w.samples < tooFew*w.rank*w.rank {
		return nil, &ShortError{w.samples, w.rank}
	}
	d := &descent{signs: ones(w.rank), here: &point{weights: o.start}}
	if o.start == nil {
		d.here.weights = identity(w.rank)
	}
	for _, squares := range approaches {
		if every := w.samples / (squares * w.rank * w.rank); every > 1 {
			d.data = w.sample(every)
			if _, err := d.run(ctx, wanted(int(d.data.size)), mostSteps); err != nil {
				return nil, err
			}
		}
	}
	d.data = w.sample(1)
	reached, err := d.run(ctx, wanted(w.samples), mostSteps)
	if err != nil {
		return nil, err
	}
	s := &Separation{Samples: w.samples, Dimensions: w.whole, Steps: d.steps, Gradient: d.here.norm(),
		Wanted: wanted(w.samples), Reached: reached}
	return s, s.take(w, d.here.weights)
}

// Few reports whether the samples are fewer than what is usual for so many
// components.
func (s *Separation) Few() bool {
	n, _ := s.Weights.Dims()
	return s.Samples < few*n*n
}

// A ShortError says that data are too short for their components.
type ShortError struct{ Samples, Components int }

// Error implements error.
func (e *ShortError) Error() string {
	most := 0
	for tooFew*(most+1)*(most+1) <= e.Samples {
		most++
	}
	return fmt.Sprintf("%d samples are too few for %d components, expected %d or more (%d times their square): "+
		"ask for %d or fewer, or add recordings", e.Samples, e.Components,
		tooFew*e.Components*e.Components, tooFew, most)
}

// take brings the weights back to the rows, in the order of power, each
// component with the sign in which the largest value of its map is positive.
func (s *Separation) take(w *whitened, unmixing *mat.Dense) error {
	var weights, maps, inverse mat.Dense
	if err := inverse.Inverse(unmixing); err != nil {
		return fmt.Errorf("the components cannot be told apart: %w", err)
	}
	weights.Mul(unmixing, w.forth)
	maps.Mul(w.back, &inverse)
	rows, n := maps.Dims()
	// The data are white, so a component's variance is that of its weights.
	scale, power := make([]float64, n), make([]float64, n)
	for k := range n {
		column := mat.Col(nil, k, &maps)
		scale[k] = mat.Norm(unmixing.RowView(k), 2)
		largest := slices.MaxFunc(column, func(a, b float64) int { return cmp.Compare(abs(a), abs(b)) })
		if largest < 0 {
			scale[k] = -scale[k]
		}
		for _, x := range column {
			power[k] += x * x * scale[k] * scale[k]
		}
	}
	order := make([]int, n)
	for k := range order {
		order[k] = k
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(power[b], power[a]) })
	s.Weights, s.Maps = mat.NewDense(n, rows, nil), mat.NewDense(rows, n, nil)
	for to, k := range order {
		for i := range rows {
			s.Weights.Set(to, i, weights.At(k, i)/scale[k])
			s.Maps.Set(i, to, maps.At(i, k)*scale[k])
		}
	}
	return nil
}

func abs(x float64) float64 { return max(x, -x) }

func ones(n int) []float64 {
	list := make([]float64, n)
	for i := range list {
		list[i] = 1
	}
	return list
}

func identity(n int) *mat.Dense {
	m := mat.NewDense(n, n, nil)
	for i := range n {
		m.Set(i, i, 1)
	}
	return m
}
