package inference

import (
	"context"
	"runtime"
	"sync"

	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/mat"
)

const (
	// mostTogether is the most arrangements that are looked at in one
	// product, and mostValues the most values that come of one: 16 MiB.
	mostTogether = 64
	mostValues   = 1 << 21
	// stretch is how many multiplications are done before the context is
	// looked at: a few ms.
	stretch = 1 << 23
)

// eachBlock goes through all arrangements, a block at a time, as many side by
// side as there are processors. For each block begin makes what is shown the t
// of its arrangements one by one, and what adds up the block in the end, one
// block at a time and in no order: counts, which do not depend on it. toT turns
// sums into t. It stops soon after the context ends, with its error.
func eachBlock(ctx context.Context, s *statistic, o Options, toT func(sums []float64),
	begin func() (see func(t []float64), add func())) error {
	n := s.design.count(o)
	block := min(max(mostValues/len(s.sums), 1), mostTogether)
	var adding sync.Mutex
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for from := 0; from < n && ctx.Err() == nil; from += block {
		group.Go(func() error {
			sums, err := s.arranged(ctx, s.design.weights(from, min(from+block, n), o))
			if err != nil {
				return err
			}
			see, add := begin()
			rows, _ := sums.Dims()
			for i := range rows {
				if err := ctx.Err(); err != nil {
					return err
				}
				t := sums.RawRowView(i)
				toT(t)
				see(t)
			}
			adding.Lock()
			defer adding.Unlock()
			add()
			return nil
		})
	}
	if err := group.Wait(); err != nil {
		return err
	}
	return ctx.Err()
}

// arranged is the product of weights and data, arrangement × point, some points
// at a time.
func (s *statistic) arranged(ctx context.Context, weights *mat.Dense) (*mat.Dense, error) {
	rows, people := weights.Dims()
	_, points := s.data.Dims()
	sums := mat.NewDense(rows, points, nil)
	step := max(1, stretch/(rows*people))
	for from := 0; from < points; from += step {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		to := min(from+step, points)
		part := sums.Slice(0, rows, from, to).(*mat.Dense)
		part.Mul(weights, s.data.Slice(0, people, from, to))
	}
	return sums, nil
}
