package inference

import (
	"cmp"
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Largest is a test of every point by the largest statistic.
type Largest struct {
	T         []float64 // at each point
	P         []float64 // of each point by itself, two-sided
	Corrected []float64 // the same, corrected over all points by the largest |t|
}

// TestLargest tests data, people × points. The corrected p of a point is the
// share of arrangements whose largest |t| over all points is at least its own.
// It stops, with the error of the context, when that ends.
func TestLargest(ctx context.Context, d Design, data mat.Matrix, o Options) (*Largest, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	s, err := newStatistic(d, data)
	if err != nil {
		return nil, err
	}
	t := s.t()
	single, largest := make([]int, len(t)), make([]int, len(t))
	err = eachBlock(ctx, s, o, s.toT, func() (see func([]float64), add func()) {
		ownSingle, ownLargest := make([]int, len(t)), make([]int, len(t))
		see = func(row []float64) {
			most := 0.
			for j, v := range row {
				if atLeast(math.Abs(v), math.Abs(t[j])) {
					ownSingle[j]++
				}
				most = max(most, math.Abs(v))
			}
			for j := range t {
				if atLeast(most, math.Abs(t[j])) {
					ownLargest[j]++
				}
			}
		}
		add = func() {
			for j := range t {
				single[j] += ownSingle[j]
				largest[j] += ownLargest[j]
			}
		}
		return see, add
	})
	if err != nil {
		return nil, err
	}
	out := &Largest{T: t}
	for j := range t {
		out.P = append(out.P, d.p(single[j], o))
		out.Corrected = append(out.Corrected, d.p(largest[j], o))
	}
	return out, nil
}

// FalseDiscovery adjusts p values so that those below a level have at most that
// share of false ones among them (Benjamini and Hochberg 1995). NaN, where
// nothing was tested, stays NaN and does not count.
func FalseDiscovery(p []float64) []float64 {
	out := slices.Repeat([]float64{math.NaN()}, len(p))
	var order []int
	for i := range p {
		if !math.IsNaN(p[i]) {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(p[a], p[b]) })
	least := 1.
	for rank, i := range slices.Backward(order) {
		least = min(least, p[i]*float64(len(order))/float64(rank+1))
		out[i] = least
	}
	return out
}
