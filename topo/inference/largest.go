package inference

import (
	"math"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/mat"
)

// Largest is a test of every point by the largest statistic.
type Largest struct {
	T         []float64 // at each point
	P         []float64 // of each point by itself, two-sided
	Corrected []float64 // the same, corrected over all points by the largest |t|
}

// block is how many arrangements are looked at in one product.
const block = 64

// TestLargest tests data, people × points. The corrected p of a point is the share of
// arrangements whose largest |t| over all points is at least its own.
func TestLargest(d Design, data mat.Matrix, o Options) (*Largest, error) {
	s, err := newStatistic(d, data)
	if err != nil {
		return nil, err
	}
	t, err := T(d, data)
	if err != nil {
		return nil, err
	}
	single, largest := make([]int, len(t)), make([]int, len(t))
	type counts struct{ single, largest []int }
	results := blocks(s, o, s.toT, func(rows *mat.Dense) counts {
		c := counts{make([]int, len(t)), make([]int, len(t))}
		n, _ := rows.Dims()
		for i := range n {
			row := rows.RawRowView(i)
			most := 0.
			for j, v := range row {
				if atLeast(math.Abs(v), math.Abs(t[j])) {
					c.single[j]++
				}
				most = max(most, math.Abs(v))
			}
			for j := range t {
				if atLeast(most, math.Abs(t[j])) {
					c.largest[j]++
				}
			}
		}
		return c
	})
	for _, c := range results {
		for j := range t {
			single[j] += c.single[j]
			largest[j] += c.largest[j]
		}
	}
	out := &Largest{T: t}
	for j := range t {
		out.P = append(out.P, d.p(single[j], o))
		out.Corrected = append(out.Corrected, d.p(largest[j], o))
	}
	return out, nil
}

// blocks computes t of all arrangements, some at a time, and gathers what see makes of
// each block in order. toT turns sums into t.
func blocks[R any](s *statistic, o Options, toT func(sums []float64), see func(t *mat.Dense) R) []R {
	n := s.design.count(o)
	results := make([]R, (n+block-1)/block)
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for b := range results {
		group.Go(func() error {
			var t mat.Dense
			t.Mul(s.design.weights(b*block, min((b+1)*block, n), o), s.data)
			rows, _ := t.Dims()
			for i := range rows {
				toT(t.RawRowView(i))
			}
			results[b] = see(&t)
			return nil
		})
	}
	group.Wait()
	return results
}

// FalseDiscovery adjusts p values so that those below a level have at most that share of
// false ones among them (Benjamini and Hochberg 1995).
func FalseDiscovery(p []float64) []float64 {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case p[a] < p[b]:
			return -1
		case p[a] > p[b]:
			return 1
		}
		return 0
	})
	out := make([]float64, len(p))
	least := 1.
	for rank := len(p) - 1; rank >= 0; rank-- {
		i := order[rank]
		least = min(least, p[i]*float64(len(p))/float64(rank+1))
		out[i] = least
	}
	return out
}
