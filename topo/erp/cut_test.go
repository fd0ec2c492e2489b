package erp

import (
	"iter"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"calotte/topo/erp/epoch"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/montage"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
)

// value is the sample of a made-up recording: it names its own place.
func value(segment, signal, sample int) float64 {
	return float64(segment)*1e6 + float64(signal)*1e5 + float64(sample)
}

// blocksOf yields segments of the given lengths in blocks of the given sizes,
// used in turn. Like the blocks of a recording they share their memory, which
// is spoilt as soon as the loop body returns.
func blocksOf(lengths, sizes []int, signals int) iter.Seq2[recording.Block, error] {
	return func(yield func(recording.Block, error) bool) {
		memory := matrix.New(signals, slices.Max(sizes))
		k := 0
		for segment, length := range lengths {
			for first := 0; first < length; {
				n := min(sizes[k%len(sizes)], length-first)
				k++
				b := recording.Block{Segment: segment, First: first,
					Samples: make([][]float64, signals)}
				for i := range b.Samples {
					b.Samples[i] = memory[i][:n]
					for t := range n {
						b.Samples[i][t] = value(segment, i, first+t)
					}
				}
				if !yield(b, nil) {
					return
				}
				for i := range memory {
					for t := range memory[i] {
						memory[i][t] = math.NaN()
					}
				}
				first += n
			}
		}
	}
}

// wantEpoch checks every sample of an epoch.
func wantEpoch(t interface{ Fatalf(string, ...any) }, e excerpt, o onset, w epoch.Window, signals int) {
	if len(e.samples) != signals {
		t.Fatalf("%d signals, want %d", len(e.samples), signals)
	}
	for i, row := range e.samples {
		if len(row) != w.Len() {
			t.Fatalf("%d samples, want %d", len(row), w.Len())
		}
		for j, x := range row {
			if want := value(o.segment, i, o.sample+w.First+j); x != want {
				t.Fatalf("onset %d in segment %d, signal %d, sample %d: %v, want %v", o.sample,
					o.segment,
					i,
					w.First+j,
					x, want)
			}
		}
	}
}

// only passes on the blocks that are wanted.
func only(blocks iter.Seq2[recording.Block, error],
	wanted func(segment, first, last int) bool) iter.Seq2[recording.Block, error] {
	return func(yield func(recording.Block, error) bool) {
		for b, err := range blocks {
			if err == nil && !wanted(b.Segment, b.First, b.First+len(b.Samples[0])) {
				continue
			}
			if !yield(b, err) {
				return
			}
		}
	}
}

// Epochs that reach beyond the window, each as far as it needs, hold all their
// samples and leave in the order in which they begin; watching shows the same
// and passes the blocks on.
func TestCutWider(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const length = 200
		w := epoch.Window{First: -5, Last: 5, Rate: 100}
		sizes := rapid.SliceOfN(rapid.IntRange(1, 50), 1, 4).Draw(t, "blocks")
		var onsets []onset
		for k := range rapid.IntRange(1, 12).Draw(t, "onsets") {
			o := onset{before: rapid.IntRange(0, 40).Draw(t, "before"),
				after: rapid.IntRange(0, 40).Draw(t, "after"),
				trial: k}
			o.sample = rapid.IntRange(o.before+5, length-1-o.after-5).Draw(t, "sample")
			onsets = append(onsets, o)
		}
		s := newScissor(w)
		check := func(e excerpt) {
			for i, row := range e.samples {
				if len(row) != e.before+w.Len()+e.after {
					t.Fatalf("%d samples, want %d", len(row), e.before+w.Len()+e.after)
				}
				for j, x := range row {
					if want := value(0, i, e.sample+w.First-e.before+j); x != want {
						t.Fatalf("trial %d, sample %d: %v, want %v", e.trial, j, x, want)
					}
				}
			}
		}
		last, n := -1, 0
		for e, err := range s.cut(only(blocksOf([]int{length}, sizes, 2), s.touched(onsets)), onsets) {
			if err != nil {
				t.Fatal(err)
			}
			check(e)
			if start := e.sample - e.before; start < last {
				t.Fatalf("an epoch from %d after one from %d", start, last)
			} else {
				last = start
			}
			n++
			s.give(e.samples)
		}
		seen, passed := 0, 0
		for b := range s.watch(blocksOf([]int{length}, sizes, 2), onsets,
			func(e excerpt) { check(e); seen++ }) {
			passed += len(b.Samples[0])
		}
		if n != len(onsets) || seen != n || passed != length {
			t.Fatalf("%d cut and %d seen of %d, %d samples passed on", n, seen, len(onsets), passed)
		}
	})
}

// Windows of any length and density, blocks of any size, several segments, the
// first and the last sample of each, in any order and at one sample twice.
func TestCut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const signals = 2
		lengths := rapid.SliceOfN(rapid.IntRange(1, 120), 1, 4).Draw(t, "segments")
		sizes := rapid.SliceOfN(rapid.IntRange(1, 50), 1, 4).Draw(t, "blocks")
		first := rapid.IntRange(-40, 40).Draw(t, "first")
		w := epoch.Window{First: first, Last: first + rapid.IntRange(0, 60).Draw(t, "length"), Rate: 100}
		var onsets []onset
		for range rapid.IntRange(0, 20).Draw(t, "onsets") {
			s := rapid.IntRange(0, len(lengths)-1).Draw(t, "segment")
			if lengths[s] < w.Len() {
				continue
			}
			start := rapid.OneOf(rapid.IntRange(0, lengths[s]-w.Len()), rapid.Just(0),
				rapid.Just(lengths[s]-w.Len())).Draw(t, "start")
			onsets = append(onsets, onset{segment: s, sample: start - w.First,
				conditions: []int{len(onsets)}})
		}
		given := slices.Clone(onsets)
		s := newScissor(w)
		keep := rapid.Bool().Draw(t, "keep")
		var got []int
		var kept []excerpt
		blocks := blocksOf(lengths, sizes, signals)
		if rapid.Bool().Draw(t, "skip") {
			blocks = only(blocks, s.touched(onsets))
		}
		for e, err := range ahead(s.cut(blocks, onsets), rapid.IntRange(0, 5).Draw(t, "ahead")) {
			if err != nil {
				t.Fatal(err)
			}
			wantEpoch(t, e, onsets[e.conditions[0]], w, signals)
			got = append(got, e.conditions[0])
			if keep { // an epoch that is not given back stays as it is
				kept = append(kept, e)
				continue
			}
			for _, row := range e.samples { // what the chain does with it
				for j := range row {
					row[j] = math.Inf(1)
				}
			}
			s.give(e.samples)
		}
		for _, e := range kept {
			wantEpoch(t, e, onsets[e.conditions[0]], w, signals)
		}
		want := make([]int, len(onsets))
		for i := range want {
			want[i] = i
		}
		slices.SortStableFunc(want, func(a, b int) int {
			if onsets[a].segment != onsets[b].segment {
				return onsets[a].segment - onsets[b].segment
			}
			return onsets[a].sample - onsets[b].sample
		})
		if !slices.Equal(got, want) {
			t.Fatalf("epochs %v, want %v", got, want)
		}
		if !slices.EqualFunc(onsets, given,
			func(a, b onset) bool { return a.segment == b.segment && a.sample == b.sample }) {
			t.Fatal("the caller's onsets were reordered")
		}
	})
}

// Epochs of one block that do not overlap share their memory.
func TestCutReuses(t *testing.T) {
	w := epoch.Window{First: 0, Last: 9, Rate: 100}
	var onsets []onset
	for i := range 500 {
		onsets = append(onsets, onset{sample: 20 * i})
	}
	s := newScissor(w)
	memory := map[*float64]bool{}
	for e, err := range s.cut(blocksOf([]int{10_000}, []int{10_000}, 1), onsets) {
		if err != nil {
			t.Fatal(err)
		}
		wantEpoch(t, e, e.onset, w, 1)
		memory[&e.samples[0][0]] = true
		s.give(e.samples)
	}
	if len(memory) != 1 {
		t.Errorf("%d epochs took the memory of %d", len(onsets), len(memory))
	}
}

// Epochs that lie upon each other are refused where they would fill the memory,
// and only then: these take 400 kB each, so that 2,684 fit.
func TestCrowded(t *testing.T) {
	pl := &plan{
		Input: Input{Recording: &recording.Recording{Segments: []recording.Segment{{Start: 3},
			{Start: 1000}}}},
		montage: &montage.Montage{Signals: []int{0, 1, 2, 3, 4}},
		window:  epoch.Window{First: 0, Last: 9999, Rate: 1000},
	}
	for i := range 2684 {
		pl.onsets = append(pl.onsets, onset{segment: 1, sample: 9000 - 2*i}, onset{segment: 0, sample: 20 * i})
	}
	if err := pl.crowded(); err != nil {
		t.Error(err)
	}
	pl.onsets = append(pl.onsets, onset{segment: 1, sample: 9001})
	erptest.WantError(t, pl.crowded(), "more than 2684 epochs overlap at 1009 s: expected events farther apart")
	pl.onsets = nil
	if err := pl.crowded(); err != nil {
		t.Error(err)
	}
}

// A sequence of epochs can be walked through again.
func TestCutTwice(t *testing.T) {
	w := epoch.Window{First: -2, Last: 3, Rate: 100}
	epochs := newScissor(w).cut(blocksOf([]int{30}, []int{7}, 1), []onset{{sample: 20}, {sample: 5}})
	for range 2 {
		n := 0
		for e, err := range epochs {
			if err != nil {
				t.Fatal(err)
			}
			wantEpoch(t, e, onset{sample: []int{5, 20}[n]}, w, 1)
			n++
		}
		if n != 2 {
			t.Errorf("%d epochs, want 2", n)
		}
	}
}

func TestCutStopsReading(t *testing.T) {
	w := epoch.Window{First: 0, Last: 4, Rate: 100}
	read := func(onsets []onset, stop bool) int {
		last := -1
		blocks := func(yield func(recording.Block, error) bool) {
			for b, err := range blocksOf([]int{100}, []int{10}, 1) {
				last = b.First
				if !yield(b, err) {
					return
				}
			}
		}
		for range newScissor(w).cut(blocks, onsets) {
			if stop {
				break
			}
		}
		return last
	}
	if last := read(nil, false); last != -1 {
		t.Errorf("without onsets the block at %d was read", last)
	}
	if last := read([]onset{{sample: 12}, {sample: 38}}, false); last != 40 {
		t.Errorf("the last block read is at %d, want 40", last)
	}
	if last := read([]onset{{sample: 12}, {sample: 38}}, true); last != 10 {
		t.Errorf("after a break the last block read is at %d, want 10", last)
	}
}

func TestCutPassesErrorsOn(t *testing.T) {
	blocks := func(yield func(recording.Block, error) bool) {
		for b := range blocksOf([]int{30}, []int{10}, 1) {
			if b.First == 20 {
				yield(recording.Block{}, erptest.ErrRead)
				return
			}
			if !yield(b, nil) {
				return
			}
		}
	}
	w := epoch.Window{First: 0, Last: 4, Rate: 100}
	var got []error
	for _, err := range ahead(newScissor(w).cut(blocks, []onset{{sample: 3}, {sample: 22}}), 2) {
		got = append(got, err)
	}
	if !slices.Equal(got, []error{nil, erptest.ErrRead}) {
		t.Errorf("%v, want an epoch and the error", got)
	}
}

// Whoever breaks out of the loop gets back when the sequence has ended, and the
// sequence is not asked for more than it may be ahead.
func TestAheadEndsWithTheLoop(t *testing.T) {
	for _, depth := range []int{0, 3} {
		made, ended := 0, false
		count := func(yield func(int, error) bool) {
			defer func() { ended = true }()
			for made = 0; ; made++ {
				if !yield(made, nil) {
					return
				}
			}
		}
		for i := range ahead(count, depth) {
			if i == 5 {
				break
			}
		}
		if !ended || made > 5+depth+2 {
			t.Errorf("depth %d: ended %v after %d", depth, ended, made)
		}
	}
}
