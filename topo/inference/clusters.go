package inference

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// A Cluster is points of one sign, connected over neighbouring sites and
// samples.
type Cluster struct {
	Points []int   // site·samples + sample, rising
	Mass   float64 // the sum of t
	P      float64 // of the largest |mass| of either sign
}

// Clusters is a cluster test.
type Clusters struct {
	T         []float64 // at each point
	Threshold float64   // of |t|
	Clusters  []Cluster // the largest |mass| first
}

// TestClusters tests data, people × points, where point site·samples + sample
// is a site at a sample: points whose |t| exceeds that of a two-sided p of
// level are joined, signs apart, with neighbours in space and time. Neighbours
// lists those of each site. The p of a cluster is the share of arrangements
// whose largest |mass| is at least its own: it speaks of there being a
// difference, not of where it begins and ends. It stops, with the error of the
// context, when that ends.
func TestClusters(ctx context.Context, d Design, data mat.Matrix, neighbours [][]int, level float64,
	o Options) (*Clusters, error) {
	s, samples, err := overSites(d, data, neighbours, o)
	if err != nil {
		return nil, err
	}
	if !(level > 0 && level < 1) {
		return nil, fmt.Errorf("a level of %g: expected between 0 and 1", level)
	}
	t := s.t()
	out := &Clusters{T: t, Threshold: distuv.StudentsT{Sigma: 1, Nu: s.freedom()}.Quantile(1 - level/2)}
	out.Clusters = newJoiner(neighbours, samples).clusters(t, out.Threshold)
	sortByMass(out.Clusters)
	extreme := make([]int, len(out.Clusters))
	limits := s.limits(out.Threshold)
	toT := func(sums []float64) { s.toLargeT(sums, limits) }
	err = eachBlock(ctx, s, o, toT, func() (see func([]float64), add func()) {
		j := newJoiner(neighbours, samples)
		var largest []float64
		see = func(row []float64) { largest = append(largest, j.largest(row, out.Threshold)) }
		add = func() {
			for _, mass := range largest {
				for k, c := range out.Clusters {
					if atLeast(mass, math.Abs(c.Mass)) {
						extreme[k]++
					}
				}
			}
		}
		return see, add
	})
	if err != nil {
		return nil, err
	}
	for k := range out.Clusters {
		out.Clusters[k].P = d.p(extreme[k], o)
	}
	return out, nil
}

// overSites is the statistic of data whose points are sites at so many samples,
// of which each site has neighbours.
func overSites(d Design, data mat.Matrix, neighbours [][]int, o Options) (s *statistic, samples int, err error) {
	if err := o.check(); err != nil {
		return nil, 0, err
	}
	if s, err = newStatistic(d, data); err != nil {
		return nil, 0, err
	}
	_, points := data.Dims()
	if err := checkNeighbours(points, neighbours); err != nil {
		return nil, 0, err
	}
	return s, points / len(neighbours), nil
}

// A joiner finds connected points by flooding.
type joiner struct {
	neighbours [][]int
	samples    int
	seen       []bool
	queue      []int
}

func newJoiner(neighbours [][]int, samples int) *joiner {
	return &joiner{neighbours: neighbours, samples: samples, seen: make([]bool, len(neighbours)*samples)}
}

// each calls visit with every cluster's points, in no order, and mass.
func (j *joiner) each(t []float64, threshold float64, visit func(points []int, mass float64)) {
	clear(j.seen)
	for start, v := range t {
		if math.Abs(v) <= threshold || j.seen[start] {
			continue
		}
		positive := v > 0
		j.queue = append(j.queue[:0], start)
		j.seen[start] = true
		mass := 0.
		add := func(p int) {
			if !j.seen[p] && math.Abs(t[p]) > threshold && t[p] > 0 == positive {
				j.seen[p] = true
				j.queue = append(j.queue, p)
			}
		}
		for k := 0; k < len(j.queue); k++ {
			p := j.queue[k]
			mass += t[p]
			site, sample := p/j.samples, p%j.samples
			if sample > 0 {
				add(p - 1)
			}
			if sample+1 < j.samples {
				add(p + 1)
			}
			for _, n := range j.neighbours[site] {
				add(n*j.samples + sample)
			}
		}
		visit(j.queue, mass)
	}
}

func (j *joiner) clusters(t []float64, threshold float64) []Cluster {
	var out []Cluster
	j.each(t, threshold, func(points []int, mass float64) {
		out = append(out, Cluster{Points: slices.Sorted(slices.Values(points)), Mass: mass})
	})
	return out
}

func (j *joiner) largest(t []float64, threshold float64) float64 {
	most := 0.
	j.each(t, threshold, func(_ []int, mass float64) { most = max(most, math.Abs(mass)) })
	return most
}

// Group joins points that hold, signs apart, with their neighbours in space and
// time, for tests of single points: the p of a group is the smallest of its
// points'. The largest |mass| comes first.
func Group(t, p []float64, holds func(point int) bool, neighbours [][]int) ([]Cluster, error) {
	if len(p) != len(t) {
		return nil, fmt.Errorf("%d values of p for %d of t", len(p), len(t))
	}
	if err := checkNeighbours(len(t), neighbours); err != nil {
		return nil, err
	}
	masked := make([]float64, len(t))
	for i, v := range t {
		if holds(i) {
			masked[i] = v
		}
	}
	out := newJoiner(neighbours, len(t)/len(neighbours)).clusters(masked, 0)
	for i := range out {
		out[i].P = 1
		for _, point := range out[i].Points {
			out[i].P = min(out[i].P, p[point])
		}
	}
	sortByMass(out)
	return out, nil
}

// checkNeighbours refuses lists that are not those of the sites of so many
// points.
func checkNeighbours(points int, neighbours [][]int) error {
	sites := len(neighbours)
	if sites == 0 || points%sites != 0 {
		return fmt.Errorf("%d points do not divide into %d sites", points, sites)
	}
	for site, list := range neighbours {
		for _, n := range list {
			if n < 0 || n >= sites {
				return fmt.Errorf("site %d has the neighbour %d: expected 0 to %d", site, n, sites-1)
			}
		}
	}
	return nil
}

func sortByMass(list []Cluster) {
	slices.SortStableFunc(list, func(a, b Cluster) int { return cmp.Compare(math.Abs(b.Mass), math.Abs(a.Mass)) })
}
