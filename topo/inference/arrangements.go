package inference

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/combin"
)

// A Design says how people may be arranged anew. Make one with [Paired] or
// [Groups].
type Design struct {
	people int
	group  []bool // of exchanges: who is in the first group; nil: sign flips
	first  int    // how many are
}

// Paired is n people each with a difference, whose sign may be flipped.
func Paired(n int) (Design, error) {
	if n < 2 {
		return Design{}, fmt.Errorf("%d people: a test needs two or more", n)
	}
	return Design{people: n}, nil
}

// Groups is two groups of people, who may be exchanged. The rows of the data
// are those of the first group, then those of the second.
func Groups(first, second int) (Design, error) {
	if first < 2 || second < 2 {
		return Design{}, fmt.Errorf("groups of %d and %d people: a test needs two or more in each", first,
			second)
	}
	return Design{people: first + second, first: first, group: make([]bool, first+second)}, nil
}

// Options of a test. Arrangements has no default, since it decides how small p
// can be: a test without any is refused.
type Options struct {
	Arrangements int    // 1 or more: how many to draw, where there are more
	Seed         uint64 // of the draws
}

func (o Options) check() error {
	if o.Arrangements < 1 {
		return fmt.Errorf("a test by %d arrangements: expected 1 or more, such as 5000", o.Arrangements)
	}
	return nil
}

// total is how many arrangements there are, as a float since they are many.
func (d Design) total() float64 {
	if d.group == nil {
		return math.Pow(2, float64(d.people))
	}
	return math.Round(math.Exp(combin.LogGeneralizedBinomial(float64(d.people), float64(d.first))))
}

// Exact reports whether all arrangements are gone through.
func (d Design) Exact(o Options) bool { return d.total() <= float64(o.Arrangements) }

// SmallestP is the smallest p that a test can give, two-sided: 1 without
// arrangements.
func (d Design) SmallestP(o Options) float64 {
	if !d.Exact(o) {
		return 1 / float64(o.Arrangements+1)
	}
	if d.group == nil || 2*d.first == d.people {
		return 2 / d.total() // an arrangement and its mirror image are equally extreme
	}
	return 1 / d.total()
}

// count is how many arrangements are gone through beside the identity, which is
// the first of all.
func (d Design) count(o Options) int {
	if d.Exact(o) {
		return int(d.total()) - 1
	}
	return o.Arrangements
}

// weights are arrangements from the i-th on, as rows of weights whose product
// with the data is a difference of sums: ±1 for flips, 1 and 0 for who is in
// the first group. The identity is number -1.
func (d Design) weights(from, to int, o Options) *mat.Dense {
	out := mat.NewDense(to-from, d.people, nil)
	for i := from; i < to; i++ {
		row := out.RawRowView(i - from)
		switch {
		case d.group == nil && d.Exact(o):
			for k := range row {
				row[k] = 1 - 2*float64((i+1)>>k&1)
			}
		case d.group == nil:
			random := rand.New(rand.NewPCG(o.Seed, uint64(i)))
			for k := range row {
				row[k] = 1 - 2*float64(random.Uint64()&1)
			}
		case d.Exact(o):
			for _, k := range combin.IndexToCombination(nil, i+1, d.people, d.first) {
				row[k] = 1
			}
		default:
			random := rand.New(rand.NewPCG(o.Seed, uint64(i)))
			for _, k := range random.Perm(d.people)[:d.first] {
				row[k] = 1
			}
		}
	}
	return out
}

// identity is the arrangement as it was.
func (d Design) identity() *mat.Dense {
	out := mat.NewDense(1, d.people, nil)
	for k := range d.people {
		if d.group == nil || k < d.first {
			out.Set(0, k, 1)
		}
	}
	return out
}

// p turns a count of arrangements that are as extreme into a probability.
func (d Design) p(extreme int, o Options) float64 {
	return float64(extreme+1) / float64(d.count(o)+1) // the identity is as extreme as itself
}
