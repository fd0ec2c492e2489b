package inference

import (
	"cmp"
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Enhanced is a test of every point by threshold-free enhancement.
type Enhanced struct {
	T         []float64 // at each point
	Value     []float64 // t enhanced, with its sign
	Corrected []float64 // p of each point, two-sided, corrected by the largest |value|
}

// mostEnhanced is the largest |t| that counts: where there is no variance at
// all t is infinite, and the values of all that is joined to it would be lost.
const mostEnhanced = 1e3

// TestEnhanced tests data, people × points, by threshold-free enhancement
// (S. M. Smith and T. E. Nichols, NeuroImage 44:83, 2009, with their extent to
// the power of E = 1/2 and height to that of H = 2): a point whose |t| is h has
// the value ∫ √e(x)·x² dx from 0 to h, where e(x) counts the sites and samples
// of its sign that are joined with it as neighbours, all with a |t| of x or
// more. The integral is exact. The corrected p of a point is the share of
// arrangements whose largest |value| over all points is at least its own. No
// level is chosen, as that of [TestClusters] is. It stops, with the error of
// the context, when that ends.
func TestEnhanced(ctx context.Context, d Design, data mat.Matrix, neighbours [][]int, o Options) (*Enhanced, error) {
	s, samples, err := overSites(d, data, neighbours, o)
	if err != nil {
		return nil, err
	}
	t := s.t()
	out := &Enhanced{T: t, Value: newEnhancer(neighbours, samples).values(t)}
	var largest []float64
	err = eachBlock(ctx, s, o, s.toT, func() (see func([]float64), add func()) {
		e := newEnhancer(neighbours, samples)
		var own []float64
		see = func(row []float64) { own = append(own, e.largest(row)) }
		add = func() { largest = append(largest, own...) }
		return see, add
	})
	if err != nil {
		return nil, err
	}
	slices.Sort(largest)
	for _, v := range out.Value {
		below, _ := slices.BinarySearchFunc(largest, math.Abs(v), func(a, b float64) int {
			if atLeast(a, b) {
				return 1
			}
			return -1
		})
		out.Corrected = append(out.Corrected, d.p(len(largest)-below, o))
	}
	return out, nil
}

// An enhancer goes through the points from the highest |t| down and joins each
// with its neighbours of the same sign that came before it. Between two heights
// all points of a set gain alike, so that a set keeps one sum, and a point that
// is not its root the difference to that of the point above it.
type enhancer struct {
	steps   [][]int32 // of each site: to the same sample of its neighbours
	samples int
	height  []float64 // |t| of each point
	order   []int32   // the points but those of zero, from the highest down
	bin     []int32   // of each point, while they are put in order
	ends    []int32   // of the bins
	reached []int8    // the sign of each point that was reached, else 0: small, so that it stays near the processor
	above   []int32   // the point above each in its set, itself if root
	points  []enhancedPoint
}

type enhancedPoint struct {
	gained float64 // of a root: what it has gained; else the same, less that of the point above
	most   float64 // of a root: the most that a point of its set has gained, beyond the root
	since  float64 // of a root: the height from which on its set has not gained yet
	extent float64 // of a root: the points of its set
}

func newEnhancer(neighbours [][]int, samples int) *enhancer {
	n := len(neighbours) * samples
	e := &enhancer{steps: make([][]int32, len(neighbours)), samples: samples, height: make([]float64, n),
		order: make([]int32, 0, n), bin: make([]int32, n), ends: make([]int32, n+1), reached: make([]int8, n),
		above: make([]int32, n), points: make([]enhancedPoint, n)}
	for site, list := range neighbours {
		for _, other := range list {
			e.steps[site] = append(e.steps[site], int32((other-site)*samples))
		}
	}
	return e
}

// values are the enhanced t, with their signs.
func (e *enhancer) values(t []float64) []float64 {
	e.rise(t)
	out := make([]float64, len(t))
	for _, p := range e.order {
		sum := e.points[p].gained
		for q := p; e.above[q] != q; {
			q = e.above[q]
			sum += e.points[q].gained
		}
		out[p] = math.Copysign(sum, t[p])
	}
	return out
}

// largest is the largest |value|.
func (e *enhancer) largest(t []float64) float64 {
	e.rise(t)
	most := 0.
	for _, p := range e.order {
		if e.above[p] == p {
			most = max(most, e.points[p].gained+e.points[p].most)
		}
	}
	return most
}

// rise goes through the points of t other than zero.
func (e *enhancer) rise(t []float64) {
	e.sort(t)
	clear(e.reached)
	for _, p := range e.order {
		sign := int8(1)
		if t[p] < 0 {
			sign = -1
		}
		e.reached[p] = sign
		e.above[p], e.points[p] = p, enhancedPoint{since: e.height[p], extent: 1}
		root := p
		site := int(p) / e.samples
		sample := int(p) - site*e.samples
		if sample > 0 && e.reached[p-1] == sign {
			root = e.join(root, p-1, e.height[p])
		}
		if sample+1 < e.samples && e.reached[p+1] == sign {
			root = e.join(root, p+1, e.height[p])
		}
		for _, step := range e.steps[site] {
			if e.reached[p+step] == sign {
				root = e.join(root, p+step, e.height[p])
			}
		}
	}
	for _, p := range e.order {
		if e.above[p] == p {
			e.points[p].gain(0)
		}
	}
}

// sort puts the points in order: into as many bins of height as there are
// points, which takes less than half the time of comparing them all, and in
// order within a bin.
func (e *enhancer) sort(t []float64) {
	top := 0.
	for p, v := range t {
		e.height[p] = min(math.Abs(v), mostEnhanced)
		top = max(top, e.height[p])
	}
	scale := float64(len(e.ends)-2) / top
	clear(e.ends)
	count := 0
	for p, h := range e.height {
		if h > 0 {
			e.bin[p] = int32((top - h) * scale)
			e.ends[e.bin[p]+1]++
			count++
		}
	}
	for k := 1; k < len(e.ends); k++ {
		e.ends[k] += e.ends[k-1] // still the bin's beginning
	}
	e.order = e.order[:count]
	for p, h := range e.height {
		if h > 0 {
			at := &e.ends[e.bin[p]]
			e.order[*at] = int32(p)
			*at++
		}
	}
	from := int32(0)
	for _, to := range e.ends[:len(e.ends)-1] {
		if to-from > 1 {
			slices.SortFunc(e.order[from:to], func(a, b int32) int {
				return cmp.Or(cmp.Compare(e.height[b], e.height[a]), cmp.Compare(a, b))
			})
		}
		from = to
	}
}

// join makes one set, whose root it returns, of that of a root and that of a
// point, at a height. The smaller hangs below the larger, so that the way to a
// root is short.
func (e *enhancer) join(root, point int32, height float64) int32 {
	other := e.root(point)
	if root == other {
		return root
	}
	a, b := &e.points[root], &e.points[other]
	a.gain(height)
	b.gain(height)
	if a.extent < b.extent {
		a, b, root, other = b, a, other, root
	}
	e.above[other] = root
	b.gained -= a.gained
	a.most = max(a.most, b.gained+b.most)
	a.extent += b.extent
	return root
}

func (e *enhancer) root(p int32) int32 {
	for e.above[p] != p {
		p = e.above[p]
	}
	return p
}

// gain adds to a root what its set gains down to a height.
func (r *enhancedPoint) gain(height float64) {
	if height == r.since {
		return
	}
	r.gained += math.Sqrt(r.extent) * (r.since*r.since*r.since - height*height*height) / 3
	r.since = height
}
