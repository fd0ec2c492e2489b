package inference

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// A statistic knows the sums that no arrangement changes, so that the t of an
// arrangement follows from one product.
type statistic struct {
	design  Design
	data    *mat.Dense // people × points
	sums    []float64  // of groups: over all people, at each point
	squares []float64  // sum of squares at each point
}

func newStatistic(d Design, data mat.Matrix) (*statistic, error) {
	people, points := data.Dims()
	if people != d.people {
		return nil, fmt.Errorf("data of %d people for a design of %d", people, d.people)
	}
	dense, ok := data.(*mat.Dense)
	if !ok {
		dense = mat.DenseCopyOf(data)
	}
	s := &statistic{design: d, data: dense, sums: make([]float64, points), squares: make([]float64, points)}
	for i := range people {
		for j, v := range dense.RawRowView(i) {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("person %d has the value %g at point %d: expected a number", i+1,
					v,
					j+1)
			}
			s.sums[j] += v
			s.squares[j] += v * v
		}
	}
	return s, nil
}

// toT turns the weighted sums of an arrangement into t, in place: of one
// sample, with n−1 degrees of freedom, or of two groups with a common variance
// and n−2. Where there is no variance at all t is 0, or infinite with a mean
// that is not 0.
func (s *statistic) toT(sums []float64) {
	n := float64(s.design.people)
	if s.design.group == nil {
		for j, sum := range sums {
			mean := sum / n
			sums[j] = ratio(mean, (s.squares[j]/n-mean*mean)/(n-1), s.squares[j]/n)
		}
		return
	}
	a := float64(s.design.first)
	b := n - a
	for j, sum := range sums {
		one, two := sum/a, (s.sums[j]-sum)/b
		within := s.squares[j] - a*one*one - b*two*two
		sums[j] = ratio(one-two, within/(n-2)*(1/a+1/b), s.squares[j]/n)
	}
}

// toLargeT is toT where |t| may exceed a threshold, and zero elsewhere. Of one
// sample, t² > θ² is mean²·(n−1+θ²) > θ²·Σx²/n, so that limits on the sums,
// made once, spare most points their root.
func (s *statistic) toLargeT(sums []float64, limits []float64) {
	if limits == nil {
		s.toT(sums)
		return
	}
	n := float64(s.design.people)
	for j, sum := range sums {
		if math.Abs(sum) < limits[j] {
			sums[j] = 0
			continue
		}
		mean := sum / n
		sums[j] = ratio(mean, (s.squares[j]/n-mean*mean)/(n-1), s.squares[j]/n)
	}
}

// limits are what |sum| must reach, less a margin for rounding, for |t| to
// exceed a threshold; nil for groups.
func (s *statistic) limits(threshold float64) []float64 {
	if s.design.group != nil {
		return nil
	}
	n := float64(s.design.people)
	out := make([]float64, len(s.squares))
	for j, q := range s.squares {
		out[j] = (1 - 1e-9) * n * threshold * math.Sqrt(q/n/(n-1+threshold*threshold))
	}
	return out
}

// ratio is a mean over its error; a variance of the size of rounding is none.
func ratio(mean, variance, scale float64) float64 {
	if variance > 1e-14*scale {
		return mean / math.Sqrt(variance)
	}
	if mean*mean <= 1e-24*scale {
		return 0
	}
	return math.Inf(int(math.Copysign(1, mean)))
}

// freedom is the number of degrees of freedom of t.
func (s *statistic) freedom() float64 {
	if s.design.group == nil {
		return float64(s.design.people - 1)
	}
	return float64(s.design.people - 2)
}

// t is that of the arrangement as it was.
func (s *statistic) t() []float64 {
	var sums mat.Dense
	sums.Mul(s.design.identity(), s.data)
	t := sums.RawRowView(0)
	s.toT(t)
	return t
}

// atLeast reports whether a statistic is as extreme as another, ties included,
// those of infinite ones too.
func atLeast(a, b float64) bool { return a >= b || a >= b-1e-12*math.Abs(b) }
