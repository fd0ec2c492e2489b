package erp

import (
	"cmp"
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"calotte/topo/erp/average"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/unmix"
)

// Courses are the components' mean courses about the events of conditions.
type Courses struct {
	Times   []float64     // s
	Means   [][][]float64 // condition × component × sample
	Numbers []int         // of epochs, a condition
}

// courses passes through the epochs of the conditions, all of them: nothing is
// rejected, since it is the components that are to be judged.
func (out *Unmixed) courses(ctx context.Context, u Unmixing, inputs []Input, leftOut []average.Repaired) error {
	if len(u.Conditions) == 0 {
		return nil
	}
	p := &Pipeline{Conditions: u.Conditions, Filter: u.Filter, Restore: u.Restore, Epoch: u.Epoch}
	s := &session{pipeline: p}
	if err := s.plan(without(inputs, leftOut)); err != nil {
		return err
	}
	n, _ := out.Weights.Dims()
	w := s.plans[0].window
	c := &Courses{Times: w.Times(), Numbers: make([]int, len(u.Conditions))}
	sums := make([]*mat.Dense, len(u.Conditions))
	for k := range sums {
		sums[k] = mat.NewDense(len(out.Rows), w.Len(), nil)
	}
	for _, pl := range s.plans {
		err := s.each(ctx, pl, func(e excerpt) error {
			rows := pl.chain.potentials(e)
			for _, k := range e.conditions {
				c.Numbers[k]++
				for i, row := range rows {
					sum := sums[k].RawRowView(i)
					for t, x := range row {
						sum[t] += x
					}
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	for k, sum := range sums {
		means := matrix.New(n, w.Len())
		var product mat.Dense
		product.Mul(out.Weights, sum)
		for i, row := range means {
			for t := range row {
				row[t] = product.At(i, t) / float64(max(1, c.Numbers[k]))
			}
		}
		c.Means = append(c.Means, means)
	}
	out.Courses = c
	return nil
}

// A Changed is a stretch of the data before and after components were taken
// out, at the sites that change most.
type Changed struct {
	Sites         []string
	Times         []float64 // s, from the stretch's beginning
	Before, After [][]float64
	At            Origin // of the first second
}

// Extent of what is shown of a change.
const (
	changedSites   = 6
	changedSeconds = 10
)

// Change is what taking out components does, around the largest piece of the
// one of them that gives the rows most.
func (out *Unmixed) Change(f *unmix.File, decisions []unmix.Decision) Changed {
	data, n := out.Watched.Data, int(math.Round(out.Rate))
	piece := 0
	for _, d := range decisions {
		if d.Remove {
			piece = out.Traits[d.Component-1].Strong[0] / n
			break // they stand in the order of power
		}
	}
	first := max(0, min(piece-changedSeconds/2, out.Seconds-changedSeconds))
	from, to := first*n, min((first+changedSeconds)*n, len(data[0]))
	left := f.Without(decisions)
	after, change := matrix.New(len(data), to-from), make([]float64, len(out.Sites))
	for i, row := range after {
		for j, other := range data {
			weight := left.At(i, j)
			for t := range row {
				row[t] += weight * other[from+t]
			}
		}
		if i < len(change) {
			for t, x := range row {
				change[i] += (x - data[i][from+t]) * (x - data[i][from+t])
			}
		}
	}
	order := make([]int, len(change))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(change[b], change[a]) })
	c := Changed{At: out.Origins[first]}
	for t := range to - from {
		c.Times = append(c.Times, float64(t)/out.Rate)
	}
	for _, i := range order[:min(changedSites, len(order))] {
		c.Sites = append(c.Sites, out.Sites[i])
		c.Before, c.After = append(c.Before, slices.Clone(data[i][from:to])), append(c.After, after[i])
	}
	return c
}
