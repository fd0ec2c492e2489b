package erp

import (
	"context"
	"iter"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo/erp/average"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/reject"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
	"calotte/topo/recording/event"
	"calotte/topo/unit"
)

var nineSites = []string{"F3", "Fz", "F4", "C3", "Cz", "C4", "P3", "Pz", "P4"}

// noisy is a recording at 100 Hz of noise with a standard deviation of 20 µV,
// with an "a" and a "b" in turn every half second.
func noisy(t *testing.T, seed uint64, change func(signal, sample int, x float64) float64) *recording.Recording {
	rng := rand.New(rand.NewPCG(seed, 0))
	var events []recording.Event
	for k := range 38 {
		events = append(events, erptest.Annotation(0.5+float64(k)/2, []string{"a", "b"}[k%2]))
	}
	h := recording.Header{Records: 20, Signals: erptest.Signals(nineSites...)}
	return erptest.Open(t, erptest.Write(t, h, func(signal, sample int) float64 {
		x := 20 * rng.NormFloat64()
		if change != nil {
			x = change(signal, sample, x)
		}
		return x
	}, events...))
}

// twoConditions is a pipeline with everything that changes a sample on the way.
func twoConditions(t *testing.T) *Pipeline {
	baseline := erptest.Span(t, "-100..0ms")
	return &Pipeline{
		Conditions: []Condition{{"x", event.Labels("a")}, {"y", event.Labels("b")}},
		Epoch:      erptest.Span(t, "-100..300ms"), Baseline: &baseline, Reference: montage.AverageReference,
		Repair:  Repair{Sites: []layout.Name{"Pz"}, Surface: head.Sphere(90)},
		Reject:  Reject{Swing: 110},
		Quality: Quality{Windows: span1(t, "100..200ms"), Mains: 40},
	}
}

// saved runs a pipeline and returns its averages with the epochs that it kept,
// as sets that can be taken once.
func saved(t *testing.T, p *Pipeline, inputs ...Input) ([]*average.Average, []EpochSet) {
	t.Helper()
	kept := make([][][][]float64, len(p.Conditions))
	p.Keep = func(condition int, _ Trial, sites [][]float64) error {
		var epoch [][]float64
		for _, row := range sites {
			for _, x := range row {
				if x != float64(float32(x)) {
					t.Fatalf("%v cannot be saved as it is", x)
				}
			}
			epoch = append(epoch, slices.Clone(row))
		}
		kept[condition] = append(kept[condition], epoch)
		return nil
	}
	r, err := p.Run(context.Background(), inputs...)
	if err != nil {
		t.Fatal(err)
	}
	as, err := r.Averages("sub-01")
	if err != nil {
		t.Fatal(err)
	}
	var sets []EpochSet
	for i, a := range as {
		if len(kept[i]) != a.Info.Epochs.Kept {
			t.Fatalf("%d epochs of %s, the average has %d", len(kept[i]), a.Info.Condition,
				a.Info.Epochs.Kept)
		}
		sets = append(sets, EpochSet{Condition: a.Info.Condition, Sites: a.Sites, Window: r.Window,
			Rows: r.Rows(a.Info.Condition), Info: a.Info, Epochs: once(kept[i])})
	}
	return as, sets
}

// once yields epochs in memory that the next one overwrites, as a reader does.
func once(epochs [][][]float64) iter.Seq2[[][]float64, error] {
	return func(yield func([][]float64, error) bool) {
		for _, e := range epochs {
			var copied [][]float64
			for _, row := range e {
				copied = append(copied, slices.Clone(row))
			}
			if !yield(copied, nil) {
				return
			}
			for _, row := range copied {
				for t := range row {
					row[t] = math.NaN()
				}
			}
		}
	}
}

func inputsOf(recs ...*recording.Recording) []Input {
	var out []Input
	for i, r := range recs {
		out = append(out, Input{Recording: r, Name: []string{"one.edf", "two.edf", "three.edf"}[i]})
	}
	return out
}

// Averages that are made again from the epochs that were kept equal the direct
// ones to the last bit, runs pooled, with all that is known of them.
func TestAveragesOfSavedEpochsAreTheDirectOnes(t *testing.T) {
	clipping := func(signal, sample int, x float64) float64 {
		if signal == 5 && sample >= 60 && sample < 64 {
			return 3276.7
		}
		return x
	}
	recs := inputsOf(noisy(t, 1, clipping), noisy(t, 2, nil), noisy(t, 3, nil))
	direct, sets := saved(t, twoConditions(t), recs...)
	again := &Pipeline{Quality: Quality{Windows: span1(t, "100..200ms"), Mains: 40}}
	r, err := again.RunEpochs(context.Background(), sets...)
	if err != nil {
		t.Fatal(err)
	}
	as, err := r.Averages("sub-01")
	if err != nil {
		t.Fatal(err)
	}
	for i, a := range as {
		d := direct[i]
		for _, table := range []struct {
			name      string
			got, want [][]float64
		}{{"mean", a.Mean, d.Mean}, {"sem", a.SEM, d.SEM}, {"pairs", a.Pairs.Mean, d.Pairs.Mean},
			{"pairs' sem", a.Pairs.SEM, d.Pairs.SEM}} {
			for s := range table.want {
				if !slices.Equal(table.got[s], table.want[s]) {
					t.Errorf("%s, %s, row %d: %v, want %v", d.Info.Condition, table.name, s,
						table.got[s][:3],
						table.want[s][:3])
				}
			}
		}
		if !slices.Equal(a.Times, d.Times) || !slices.Equal(a.Sites, d.Sites) {
			t.Errorf("%s: times or sites differ", d.Info.Condition)
		}
		g, w := a.Info, d.Info
		if g.Epochs.Kept != w.Epochs.Kept || !maps.Equal(g.Epochs.Rejected, w.Epochs.Rejected) ||
			w.Epochs.Lost() == 0 {
			t.Errorf("%s: %+v, want %+v and some rejected", w.Condition, g.Epochs, w.Epochs)
		}
		if g.Reference != w.Reference || g.Baseline != w.Baseline || g.Filters != w.Filters ||
			g.Rejection != w.Rejection || g.Rate != w.Rate ||
			!slices.Equal(g.Labels, w.Labels) || !slices.Equal(g.Repaired, w.Repaired) {
			t.Errorf("%s: %+v, want %+v", w.Condition, g, w)
		}
		if g.Quality.PlusMinus != w.Quality.PlusMinus || g.Quality.Hum != w.Quality.Hum ||
			!slices.Equal(g.Quality.Windows[0].Sites, w.Quality.Windows[0].Sites) {
			t.Errorf("%s: quality %+v, want %+v", w.Condition, g.Quality, w.Quality)
		}
		if !maps.Equal(g.Quality.Clipped, w.Quality.Clipped) || w.Quality.Clipped["C4"] != 4 {
			t.Errorf("%s: clipped %v, want %v, 4 at C4", w.Condition, g.Quality.Clipped, w.Quality.Clipped)
		}
	}
}

// Saved epochs of conditions that share some keep it: their difference stays
// refused.
func TestSavedEpochsRememberWhatTheyShare(t *testing.T) {
	p := &Pipeline{Conditions: []Condition{{"x", event.Labels("a")}, {"all", event.Labels("a", "b")}},
		Epoch: erptest.Span(t, "-100..300ms")}
	_, sets := saved(t, p, inputsOf(noisy(t, 1, nil))...)
	again := &Pipeline{}
	r, err := again.RunEpochs(context.Background(), sets...)
	if err != nil {
		t.Fatal(err)
	}
	as, err := r.Averages("sub-01")
	if err != nil {
		t.Fatal(err)
	}
	if got := as[0].Info.Shares; !slices.Equal(got, []string{"all"}) {
		t.Errorf("x shares epochs with %v, want all", got)
	}
}

// Limits from the data and equal numbers are those that the recordings give,
// when the epochs were saved before.
func TestRobustLimitsOfSavedEpochs(t *testing.T) {
	recs := inputsOf(noisy(t, 1, nil), noisy(t, 2, nil))
	plain := twoConditions(t)
	plain.Reject = Reject{}
	_, sets := saved(t, plain, recs...)
	strict := func(p *Pipeline) *Pipeline {
		p.Reject, p.SameNumber, p.Seed = Reject{Robust: true}, true, 3
		return p
	}
	direct, _ := saved(t, strict(twoConditions(t)), recs...)
	again := strict(&Pipeline{})
	r, err := again.RunEpochs(context.Background(), sets...)
	if err != nil {
		t.Fatal(err)
	}
	as, err := r.Averages("sub-01")
	if err != nil {
		t.Fatal(err)
	}
	for i, d := range direct {
		if g, w := as[i].Info, d.Info; g.Epochs.Kept != w.Epochs.Kept ||
			!maps.Equal(g.Epochs.Rejected, w.Epochs.Rejected) || w.Epochs.Lost() == 0 ||
			g.Rejection != w.Rejection {
			t.Errorf("%+v %q, want %+v %q", g.Epochs, g.Rejection, w.Epochs, w.Rejection)
		}
		if !slices.Equal(as[i].Mean[0], d.Mean[0]) {
			t.Errorf("%s: other epochs were drawn", d.Info.Condition)
		}
	}
}

// A filtered or referenced set is linear: reference and baseline after the
// saving are what they are before it, to the rounding of float32.
func TestReferenceAndBaselineOfSavedEpochs(t *testing.T) {
	recs := inputsOf(noisy(t, 1, nil))
	raw := &Pipeline{Conditions: []Condition{{"x", event.Labels("a")}}, Epoch: erptest.Span(t, "-100..300ms")}
	_, sets := saved(t, raw, recs...)
	baseline := erptest.Span(t, "-100..0ms")
	again := &Pipeline{Baseline: &baseline, Reference: montage.AverageReference, Reject: Reject{Swing: 110}}
	r, err := again.RunEpochs(context.Background(), sets...)
	if err != nil {
		t.Fatal(err)
	}
	as, err := r.Averages("sub-01")
	if err != nil {
		t.Fatal(err)
	}
	whole := &Pipeline{Conditions: raw.Conditions, Epoch: raw.Epoch, Baseline: &baseline,
		Reference: montage.AverageReference, Reject: Reject{Swing: 110}}
	want := averages(t, whole, recs[0].Recording)[0]
	got := as[0]
	if got.Info.Epochs.Kept != want.Info.Epochs.Kept || got.Info.Epochs.Lost() != want.Info.Epochs.Lost() ||
		want.Info.Epochs.Lost() == 0 {
		t.Fatalf("%+v, want %+v", got.Info.Epochs, want.Info.Epochs)
	}
	if got.Info.Reference != "average of 9 sites" ||
		got.Info.Baseline != "-100ms..0ms" && got.Info.Baseline != want.Info.Baseline {
		t.Errorf("reference %q, baseline %q", got.Info.Reference, got.Info.Baseline)
	}
	for i, row := range want.Mean {
		for k, x := range row {
			if !erptest.Near(got.Mean[i][k], x, 1e-5) { // 100 µV in float32: half a step of 7.6e-6
				t.Fatalf("site %d, sample %d: %v, want %v", i, k, got.Mean[i][k], x)
			}
		}
	}
}

func collect(set EpochSet) [][][]float64 {
	var all [][][]float64
	for e := range set.Epochs {
		var copied [][]float64
		for _, row := range e {
			copied = append(copied, slices.Clone(row))
		}
		all = append(all, copied)
	}
	return all
}

// A site that stands still is no reason to reject once it is repaired, however
// it came to be repaired.
func TestFlatSiteIsForgivenWhenRepaired(t *testing.T) {
	dead := func(signal, _ int, x float64) float64 {
		if nineSites[signal] == "Cz" {
			return 0
		}
		return x
	}
	rec := noisy(t, 1, dead)
	for name, c := range map[string]struct {
		repair Repair
		bad    []int
		kept   int
	}{
		"not repaired":    {Repair{}, nil, 0},
		"asked for":       {Repair{Sites: []layout.Name{"Cz"}}, nil, 19},
		"found":           {Repair{Found: true}, nil, 19},
		"marked":          {Repair{Marked: true}, []int{4}, 19},
		"another":         {Repair{Sites: []layout.Name{"Pz"}}, nil, 0},
		"marked and left": {Repair{}, []int{4}, 19},
	} {
		for _, robust := range []bool{false, true} {
			c.repair.Surface = head.Sphere(90)
			p := &Pipeline{
				Conditions: []Condition{{"x", event.Labels("a")}},
				Epoch:      erptest.Span(t, "-100..300ms"),
				Repair:     c.repair, Reject: Reject{Flat: 0.2, Robust: robust},
			}
			r, err := p.Run(context.Background(), Input{Recording: rec, Name: "one.edf", Bad: c.bad})
			if err != nil {
				t.Fatal(name, err)
			}
			counts := r.Counts[0]
			if got := counts.Kept + counts.Rejected[reject.PeakToPeak]; got != c.kept ||
				counts.Rejected[reject.FlatReason] != 19-c.kept {
				t.Errorf("%s, robust %v: %+v, want %d not flat", name, robust, counts, c.kept)
			}
		}
	}
}

// The array and its index have to belong together.
func TestEpochsThatDoNotFitTheirIndex(t *testing.T) {
	for _, c := range []struct {
		change func(set *EpochSet)
		want   string
	}{
		{func(s *EpochSet) { s.Rows = s.Rows[1:] }, "more epochs"},
		{func(s *EpochSet) { s.Rows = append(s.Rows, s.Rows[0]) }, "the index keeps"},
		{func(s *EpochSet) { s.Condition = "a-b" }, "letters and digits"},
	} {
		_, sets := saved(t, &Pipeline{Conditions: []Condition{{"x", event.Labels("a")}},
			Epoch: erptest.Span(t, "-100..300ms")}, inputsOf(noisy(t, 1, nil))...)
		c.change(&sets[0])
		_, err := (&Pipeline{}).RunEpochs(context.Background(), sets...)
		erptest.WantError(t, err, c.want)
	}
}

// Arrays made elsewhere, without rows: what is not known stays so.
func TestBareEpochs(t *testing.T) {
	_, sets := saved(t, &Pipeline{Conditions: []Condition{{"x", event.Labels("a")}},
		Epoch: erptest.Span(t, "-100..300ms")}, inputsOf(noisy(t, 1, nil))...)
	epochs := collect(sets[0])
	set := EpochSet{Condition: "own", Sites: []string{"E1", "E2", "E3", "E4", "E5", "E6", "E7", "E8", "E9"},
		Window: sets[0].Window, Epochs: once(epochs)}
	p := &Pipeline{}
	r, err := p.RunEpochs(context.Background(), set)
	if err != nil {
		t.Fatal(err)
	}
	as, err := r.Averages("sub-01")
	if err != nil {
		t.Fatal(err)
	}
	a := as[0]
	if a.Info.Epochs.Kept != len(epochs) || a.Info.Reference != "" || a.Info.Baseline != "" ||
		a.Info.Filters != "" {
		t.Errorf("%+v: reference, baseline and filters are not known", a.Info)
	}
	for i := range a.Mean {
		sum := 0.0
		for _, e := range epochs {
			sum += e[i][7]
		}
		if !erptest.Near(a.Mean[i][7], sum/float64(len(epochs)), 1e-12) {
			t.Errorf("site %d: %v, want %v", i, a.Mean[i][7], sum/float64(len(epochs)))
		}
	}
}

func span1(t *testing.T, text string) []unit.Span { return []unit.Span{erptest.Span(t, text)} }
