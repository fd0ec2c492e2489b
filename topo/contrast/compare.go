package contrast

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo/inference"
	"calotte/topo/unit"
)

// A Comparison tests where and when two conditions of the same people differ,
// matched by their labels, or two groups of people whose labels all differ, by
// permutation: the sign of a person's difference is flipped, or people are
// exchanged between the groups (E. Maris and R. Oostenveld 2007, see package
// inference).
type Comparison struct {
	Groups [2]Group
	During *unit.Span // the time to look at, ends included; nil: all after the event
	Shared bool       // test the sites that all have; else people with other sites are an error
	// Place says where sites are on the head, for who is whose neighbour;
	// nil: where the rules put them on the default head.
	Place   func(sites []string) ([]layout.Site, error)
	Correct Correction
	Level   float64 // of a single point from which on it may join a cluster, two-sided; zero: .05
	Test    inference.Options
}

// Alpha is the corrected p from which on a difference counts as shown.
const Alpha = .05

// A Correction says how many tests at once are allowed for.
type Correction int

const (
	ByClusters    Correction = iota // of neighbouring points whose |t| is large
	ByLargest                       // of single points, by the largest |t|
	ByRate                          // of single points, by the false discovery rate
	ByEnhancement                   // of single points, by threshold-free enhancement
)

var corrections = [...]string{ByClusters: "clusters", ByLargest: "largest", ByRate: "fdr", ByEnhancement: "enhanced"}

func (k Correction) String() string { return corrections[k] }

// Set reads clusters, largest, fdr or enhanced.
func (k *Correction) Set(text string) error {
	i := slices.Index(corrections[:], text)
	if i < 0 {
		return errors.New("expected clusters, largest, fdr or enhanced")
	}
	*k = Correction(i)
	return nil
}

// Type is the kind of value that a flag's help shows.
func (k Correction) Type() string { return "correction" }

// A SpanError says that the time to look at holds no sample.
type SpanError struct {
	Span        unit.Span
	First, Last float64 // that there are, s
}

func (e *SpanError) Error() string {
	return fmt.Sprintf("%v holds no sample: the averages reach from %.4g to %.4g s", e.Span, e.First, e.Last)
}

// Run matches the people, lays their values out and tests them. People whose
// sites differ, without Shared, are a *[SitesError]; a time without samples is
// a *[SpanError]. The test stops when the context ends.
func (c Comparison) Run(ctx context.Context) (*Compared, error) {
	everyone := slices.Concat(c.Groups[0].People, c.Groups[1].People)
	if len(everyone) == 0 {
		return nil, errors.New("nobody is compared: give averages of two conditions or groups")
	}
	first := everyone[0]
	out := &Compared{
		Title:     c.Groups[0].Title + " minus " + c.Groups[1].Title,
		Titles:    [2]string{c.Groups[0].Title, c.Groups[1].Title},
		Reference: first.Info.Reference, correct: c.Correct, options: c.Test,
	}
	for _, avg := range everyone {
		out.Synthetic = out.Synthetic || avg.Info.Synthetic
		if avg.Info.Few() {
			out.Few++
		}
		if !slices.Equal(avg.Times, first.Times) {
			return nil, fmt.Errorf("%s (%s) and %s (%s) have other samples: bring all to one rate and epoch",
				first.Info.Name, first.Info.Title(), avg.Info.Name, avg.Info.Title())
		}
	}
	sites, err := commonSites(everyone, c.Shared)
	if err != nil {
		return nil, err
	}
	m, err := match(c.Groups)
	if err != nil {
		return nil, err
	}
	out.matched = *m
	from, to, err := c.samples(first.Times)
	if err != nil {
		return nil, err
	}
	out.Times = first.Times[from:to]
	data := mat.NewDense(len(m.rows), len(sites)*len(out.Times), nil)
	for i, values := range m.rows {
		for s, name := range sites {
			copy(data.RawRowView(i)[s*len(out.Times):], values(name)[from:to])
		}
	}
	if out.Sites, err = c.place(sites); err != nil {
		return nil, err
	}
	neighbours, err := inference.Neighbours(positions(out.Sites))
	if err != nil {
		return nil, err
	}
	test, err := c.test(ctx, m.design, data, neighbours)
	if err != nil {
		return nil, err
	}
	out.take(test)
	return out, nil
}

// samples are the range of those to look at.
func (c Comparison) samples(times []float64) (from, to int, err error) {
	during := unit.Span{From: 0, To: unit.Time(times[len(times)-1])}
	if c.During != nil {
		during = *c.During
	}
	from = len(times)
	for i, t := range times {
		if t >= float64(during.From)-1e-9 && t <= float64(during.To)+1e-9 {
			from, to = min(from, i), i+1
		}
	}
	if to-from < 1 {
		return 0, 0, &SpanError{during, times[0], times[len(times)-1]}
	}
	return from, to, nil
}

func (c Comparison) place(sites []string) ([]layout.Site, error) {
	if c.Place != nil {
		return c.Place(sites)
	}
	surface, err := head.Default().Surface()
	if err != nil {
		return nil, err
	}
	return layout.SitesOn(surface, sites)
}

func positions(sites []layout.Site) []r3.Vec {
	out := make([]r3.Vec, len(sites))
	for i, s := range sites {
		out[i] = s.Position
	}
	return out
}

// test is the one that is asked for. Of single points those of a corrected p of
// .05 or less are grouped with their neighbours, as clusters are.
func (c Comparison) test(ctx context.Context, d inference.Design, data mat.Matrix,
	neighbours [][]int) (*inference.Clusters, error) {
	if c.Correct == ByClusters {
		level := c.Level
		if level == 0 {
			level = .05
		}
		return inference.TestClusters(ctx, d, data, neighbours, level, c.Test)
	}
	t, corrected, err := c.points(ctx, d, data, neighbours)
	if err != nil {
		return nil, err
	}
	groups, err := inference.Group(t, corrected, func(i int) bool { return corrected[i] <= Alpha }, neighbours)
	return &inference.Clusters{T: t, Clusters: groups}, err
}

// points are t and the corrected p of single points.
func (c Comparison) points(ctx context.Context, d inference.Design, data mat.Matrix,
	neighbours [][]int) (t, corrected []float64, err error) {
	if c.Correct == ByEnhancement {
		test, err := inference.TestEnhanced(ctx, d, data, neighbours, c.Test)
		if err != nil {
			return nil, nil, err
		}
		return test.T, test.Corrected, nil
	}
	test, err := inference.TestLargest(ctx, d, data, c.Test)
	if err != nil {
		return nil, nil, err
	}
	if c.Correct == ByRate {
		return test.T, inference.FalseDiscovery(test.P), nil
	}
	return test.T, test.Corrected, nil
}
