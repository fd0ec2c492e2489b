package contrast

import (
	"math"
	"slices"

	"calotte/layout"
	"calotte/topo/inference"
)

// Compared is what a [Comparison] found.
type Compared struct {
	matched
	Title     string    // "known minus novel"
	Titles    [2]string // of the two
	Reference string    // of the first person's average
	Synthetic bool      // some of the data are
	Few       int       // averages of people that rest on few epochs, see [average.Info.Few]
	// Declaration says whether the test was declared before the averages
	// were made; who knows it sets it.
	Declaration string
	Sites       []layout.Site
	Times       []float64   // s
	T           [][]float64 // site × sample
	Threshold   float64     // of |t|, from which on points join clusters; 0: single points were tested
	Clusters    []Cluster   // the largest |mass| first

	correct Correction
	options inference.Options
}

// A Cluster is neighbouring points of one sign: sites and samples.
type Cluster struct {
	Mass     float64 // the sum of t
	P        float64 // corrected
	From, To float64 // s
	Sites    []SiteSpan
	Peak     Peak

	points []int
}

// A SiteSpan is a site of a cluster, and from when to when.
type SiteSpan struct {
	Site     string
	From, To float64 // s
}

// A Peak is where |t| of a cluster is largest.
type Peak struct {
	T    float64
	Site string
	Time float64 // s

	point int
}

// Sign is "positive" or "negative".
func (c Cluster) Sign() string {
	if c.Mass < 0 {
		return "negative"
	}
	return "positive"
}

// Shown reports whether the cluster's p says that there is a difference.
func (c Cluster) Shown() bool { return c.P <= Alpha }

// take lays out what a test gave.
func (c *Compared) take(test *inference.Clusters) {
	n := len(c.Times)
	for i := range c.Sites {
		c.T = append(c.T, test.T[i*n:(i+1)*n])
	}
	c.Threshold = test.Threshold
	for _, cluster := range test.Clusters {
		c.Clusters = append(c.Clusters, c.described(cluster))
	}
}

// described says where and when a cluster is.
func (c *Compared) described(found inference.Cluster) Cluster {
	out := Cluster{Mass: found.Mass, P: found.P, From: math.Inf(1), To: math.Inf(-1), points: found.Points}
	n := len(c.Times)
	for k, point := range found.Points {
		site, at, t := c.Sites[point/n].Name, c.Times[point%n], c.T[point/n][point%n]
		if last := len(out.Sites) - 1; last < 0 || out.Sites[last].Site != site {
			out.Sites = append(out.Sites, SiteSpan{site, at, at})
		} else {
			out.Sites[last].To = at
		}
		out.From, out.To = min(out.From, at), max(out.To, at)
		if k == 0 || math.Abs(t) > math.Abs(out.Peak.T) {
			out.Peak = Peak{t, site, at, point}
		}
	}
	return out
}

// Freedom is the number of degrees of freedom of t.
func (c *Compared) Freedom() int {
	if c.Paired {
		return len(c.rows) - 1
	}
	return len(c.rows) - 2
}

// Shown are the points, site × sample, of clusters whose p says that there is a
// difference.
func (c *Compared) Shown() [][]bool {
	shown := make([][]bool, len(c.Sites))
	for i := range shown {
		shown[i] = make([]bool, len(c.Times))
	}
	for _, cluster := range c.Clusters {
		for _, point := range cluster.points {
			if cluster.Shown() {
				shown[point/len(c.Times)][point%len(c.Times)] = true
			}
		}
	}
	return shown
}

// AnyShown reports whether there is such a cluster.
func (c *Compared) AnyShown() bool { return slices.ContainsFunc(c.Clusters, Cluster.Shown) }

// A Moment is t at a sample.
type Moment struct {
	Time  float64   // s
	T     []float64 // of each site
	Shown []int     // the sites in clusters whose p says that there is a difference
	P     float64   // the least of the clusters that are strongest here
}

// Moments are the samples at which the largest clusters, so many at most, are
// strongest, in the order of time. P is the largest of the p of those clusters
// that say that there is a difference, NaN where none does.
func (c *Compared) Moments(most int) (moments []Moment, p float64) {
	p = math.NaN()
	var samples []int
	for _, cluster := range c.Clusters[:min(most, len(c.Clusters))] {
		if sample := cluster.Peak.point % len(c.Times); !slices.Contains(samples, sample) {
			samples = append(samples, sample)
		}
		if cluster.Shown() && !(p >= cluster.P) {
			p = cluster.P
		}
	}
	slices.Sort(samples)
	for _, sample := range samples {
		m := c.moment(sample)
		m.P = 1
		for _, cluster := range c.Clusters[:min(most, len(c.Clusters))] {
			if cluster.Peak.point%len(c.Times) == sample {
				m.P = min(m.P, cluster.P)
			}
		}
		moments = append(moments, m)
	}
	return moments, p
}

func (c *Compared) moment(sample int) Moment {
	m := Moment{Time: c.Times[sample]}
	for _, row := range c.T {
		m.T = append(m.T, row[sample])
	}
	for _, cluster := range c.Clusters {
		for _, point := range cluster.points {
			if cluster.Shown() && point%len(c.Times) == sample {
				m.Shown = append(m.Shown, point/len(c.Times))
			}
		}
	}
	return m
}
