package contrast_test

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"calotte/topo/contrast"
	"calotte/topo/erp/average"
	"calotte/topo/inference"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

func TestGroups(t *testing.T) {
	one := func(name, condition string) contrast.Sample {
		return contrast.Sample{Average: flat(name, condition, 1, 2, 3, 4, 5)}
	}
	people := []*average.Average{one("a", "known").Average, one("b", "known").Average}
	first, second := group(t, people...), group(t, people...)
	second.Average.Info.Name = "cadets"
	minus := group(t, people...)
	minus.Average.Info.Minus = "novel"
	for _, c := range []struct {
		name    string
		samples []contrast.Sample
		titles  string // or the error
		people  [2]int
	}{
		{"single people", []contrast.Sample{one("a", "known"), one("a", "novel"), one("b", "known")},
			"known|novel",
			[2]int{2, 1}},
		{"a grand average and people", []contrast.Sample{first, one("a", "novel")}, "known|novel",
			[2]int{2, 1}},
		{"two groups", []contrast.Sample{first, second}, "known, pilots|known, cadets", [2]int{2, 2}},
		{"one condition", []contrast.Sample{one("a", "known"), one("b", "known")},
			"compare takes two conditions or groups, and there are 1: known (2)", [2]int{}},
		{"a difference", []contrast.Sample{first, minus},
			"known minus novel is a difference already: give the two conditions that it is of", [2]int{}},
		{"none", nil, "compare takes two conditions or groups, and there are 0: ", [2]int{}},
	} {
		groups, err := contrast.Groups(c.samples)
		if err != nil {
			if err.Error() != c.titles {
				t.Errorf("%s: %v", c.name, err)
			}
			continue
		}
		if got := groups[0].Title + "|" + groups[1].Title; got != c.titles ||
			[2]int{len(groups[0].People), len(groups[1].People)} != c.people {
			t.Errorf("%s: %s, %d and %d people", c.name, got, len(groups[0].People), len(groups[1].People))
		}
	}
}

// planted are people of two conditions that differ by some 3 µV at O1 and O2 at
// the second sample of two.
func planted() [2]contrast.Group {
	groups := [2]contrast.Group{{Title: "known"}, {Title: "novel"}}
	for k, name := range strings.Split("abcdefghij", "") {
		noise := []float64{.1, -.1}[k%2] * float64(1+k/2)
		a, b := flat(name, "known", 1, 2, 3, 4, 5), flat(name, "novel", 1+noise, 2-noise, 3, 4, 5)
		a.Mean[3][1] += 3 + noise
		a.Mean[4][1] += 3 - noise
		groups[0].People, groups[1].People = append(groups[0].People, a), append(groups[1].People, b)
	}
	return groups
}

func TestCompareFindsThePlanted(t *testing.T) {
	o := inference.Options{Arrangements: 1024}
	for _, correct := range []contrast.Correction{contrast.ByClusters, contrast.ByLargest, contrast.ByRate} {
		found, err := contrast.Comparison{Groups: planted(), Correct: correct, Test: o}.Run(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		c := found.Clusters[0]
		if !c.Shown() || c.Sign() != "positive" || c.From != .004 || c.To != .004 || len(c.Sites) != 2 ||
			c.Sites[0].Site != "O1" || found.Freedom() != 9 || !found.Paired {
			t.Errorf("%v: %+v", correct, found)
		}
		shown := found.Shown()
		for i, row := range shown {
			if row[0] || row[1] != (i >= 3) {
				t.Errorf("%v: shown %v", correct, shown)
			}
		}
		moments, p := found.Moments(4)
		if len(moments) == 0 || moments[len(moments)-1].Time != .004 ||
			len(moments[len(moments)-1].Shown) != 2 ||
			p != c.P {
			t.Errorf("%v: %+v, %g", correct, moments, p)
		}
		if found.Words() != "known and novel differ." {
			t.Error(found.Words())
		}
	}
}

func TestCompareRefuses(t *testing.T) {
	o := inference.Options{Arrangements: 1024}
	change := func(f func(g *[2]contrast.Group)) contrast.Comparison {
		g := planted()
		f(&g)
		return contrast.Comparison{Groups: g, Test: o}
	}
	lacks := change(func(g *[2]contrast.Group) {
		a := g[1].People[1]
		a.Sites = []string{"P7", "P8", "Cz", "O1", "Fz"}
	})
	for _, c := range []struct {
		name  string
		asked contrast.Comparison
		want  string
	}{
		{"nobody", contrast.Comparison{Test: o}, "nobody is compared"},
		{"no arrangements", contrast.Comparison{Groups: planted()}, "a test by 0 arrangements"},
		{"other samples", change(func(g *[2]contrast.Group) { g[1].People[0].Times = []float64{0, .002} }),
			"a (known) and a (novel) have other samples"},
		{"alone", change(func(g *[2]contrast.Group) { g[1].People = g[1].People[1:] }),
			"people without a partner in the other condition: a (known): leave them out"},
		{"twice", change(func(g *[2]contrast.Group) { g[1].People[1].Info.Name = "a" }),
			"a is there twice in novel"},
		{"other sites", lacks, "people have other sites: a lacks Fz; b lacks O2"},
		{"no sample", contrast.Comparison{Groups: planted(), During: &unit.Span{From: 1, To: 2}, Test: o},
			"1000..2000ms holds no sample: the averages reach from 0 to 0.004 s"},
	} {
		if _, err := c.asked.Run(t.Context()); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
	lacks.Shared = true
	found, err := lacks.Run(t.Context())
	if err != nil || len(found.Sites) != 4 {
		t.Errorf("of the shared sites: %+v, %v", found, err)
	}
	none := change(func(g *[2]contrast.Group) {
		for _, a := range g[1].People {
			a.Sites = []string{"F7", "F8", "Fz", "F3", "F4"}
		}
	})
	none.Shared = true
	if _, err := none.Run(t.Context()); err == nil ||
		!strings.Contains(err.Error(), "no site is common to all people") {
		t.Error(err)
	}
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := (contrast.Comparison{Groups: planted(), Test: o}).Run(ended); !errors.Is(err, context.Canceled) {
		t.Errorf("%v, want the error of the context", err)
	}
}

func TestAboutThePeak(t *testing.T) {
	var averages []*average.Average
	for _, peak := range []int{4, 6} {
		a := &average.Average{Sites: []string{"P8"}, Mean: [][]float64{make([]float64, 11)}}
		for i := range 11 {
			a.Times = append(a.Times, float64(i)*.01)
			a.Mean[0][i] = math.Exp(-float64((i-peak)*(i-peak)) / 4)
		}
		averages = append(averages, a)
	}
	windows := []measure.Window{{Name: "p50", Span: unit.Span{From: .02, To: .08}, Polarity: measure.Positive}}
	found, err := contrast.Scoring{}.About(averages, windows, .01)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "from", float64(found[0].Span.From), .04)
	near(t, "to", float64(found[0].Span.To), .06)
	windows[0].Span = unit.Span{From: 0, To: .02}
	_, err = contrast.Scoring{}.About(averages, windows, .01)
	if at, ok := errors.AsType[*contrast.WindowError](err); !ok || at.Window != "p50" ||
		!errors.Is(err, measure.ErrEdge) {
		t.Error(err)
	}
	averages[1].Times = averages[1].Times[1:]
	_, err = contrast.Scoring{}.About(averages, windows, .01)
	if at, ok := errors.AsType[*contrast.AverageError](err); !ok || at.Index != 1 ||
		!errors.Is(err, contrast.ErrOtherSamples) {
		t.Error(err)
	}
}

func TestEpochScores(t *testing.T) {
	sample := contrast.Sample{Average: flat("a", "known", 1, 2),
		Units: []*average.Average{flat("", "", 1, 3), flat("", "", 1, 5)}}
	scores, err := contrast.Scoring{}.Epochs(sample,
		[]measure.Window{{Name: "w", Span: unit.Span{From: 0, To: .004}, Sites: []string{"P8"}}})
	if err != nil || len(scores) != 2 {
		t.Fatal(scores, err)
	}
	for k, want := range []float64{3, 5} {
		if s := scores[k]; s.Mean != want || s.Epoch != k+1 || s.Place != "P8" {
			t.Errorf("%+v, want %g", s, want)
		}
	}
}
