package filter

import (
	"errors"
	"iter"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"calotte/topo/recording"
	"calotte/topo/unit"
)

// plain filters one signal by the definition: odd reflection, then a sum for
// each sample.
func plain(f *Filter, x []float64) []float64 {
	n, m, h := len(x), f.Reach(), f.Impulse()
	at := func(i int) float64 {
		switch {
		case i < 0:
			return 2*x[0] - x[-i]
		case i >= n:
			return 2*x[n-1] - x[2*(n-1)-i]
		}
		return x[i]
	}
	y := make([]float64, n)
	for i := range y {
		for k := -m; k <= m; k++ {
			y[i] += h[m+k] * at(i-k)
		}
	}
	return y
}

func furthest(a, b []float64) float64 {
	if len(a) != len(b) {
		return math.Inf(1)
	}
	d := 0.0
	for i := range a {
		d = max(d, math.Abs(a[i]-b[i]))
	}
	return d
}

// random returns signals with offsets of up to 10 mV and a drift.
func random(rng *rand.Rand, signals, samples int) [][]float64 {
	rows := newRows(signals, samples)
	for _, row := range rows {
		offset, drift := 20000*(rng.Float64()-0.5), rng.NormFloat64()
		for i := range row {
			row[i] = offset + drift*float64(i) + 50*rng.NormFloat64()
		}
	}
	return rows
}

// TestDefinition filters segments of any length, in blocks of any size, against
// the definition; no segment may notice the other ones.
func TestDefinition(t *testing.T) {
	filters := []*Filter{
		design(t, Design{HighPass: 2, LowPass: 20}, 100),
		design(t, Design{LowPass: 10}, 100),
		design(t, Design{HighPass: 4, Notch: 30}, 100),
	}
	rapid.Check(t, func(r *rapid.T) {
		f := rapid.SampledFrom(filters).Draw(r, "filter")
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(r, "seed"), 0))
		signals := rapid.IntRange(1, 4).Draw(r, "signals")
		var segments [][][]float64
		for _, extra := range rapid.SliceOfN(rapid.IntRange(0, 700), 1, 3).Draw(r, "segments") {
			segments = append(segments, random(rng, signals, f.Shortest()+extra))
		}
		block := rapid.IntRange(1, 900).Draw(r, "block")
		for s, rows := range apply(t, f, block, segments...) {
			for i, row := range rows {
				if e := furthest(row, plain(f, segments[s][i])); e > 1e-9 {
					r.Fatalf("segment %d signal %d: off by %g", s, i, e)
				}
			}
		}
	})
}

// TestSameBytes wants the same bits for any size of blocks and number of CPUs.
func TestSameBytes(t *testing.T) {
	f := design(t, Design{HighPass: 0.5, LowPass: 30}, 250)
	rng := rand.New(rand.NewPCG(3, 4))
	segments := [][][]float64{random(rng, 7, 20000), random(rng, 7, 3001), random(rng, 7, 9000)}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	var first [][][]float64
	for _, c := range []struct{ cpus, block int }{{1, 2048}, {2, 2048}, {3, 1}, {2, 777}, {1, 20000}} {
		runtime.GOMAXPROCS(c.cpus)
		got := apply(t, f, c.block, segments...)
		if first == nil {
			first = got
		}
		for s := range got {
			for i := range got[s] {
				if !slices.Equal(got[s][i], first[s][i]) {
					t.Errorf("%d CPUs, blocks of %d: segment %d signal %d differs", c.cpus, c.block,
						s,
						i)
				}
			}
		}
	}
}

// TestConstantAndDrift wants nothing left of offsets and straight drifts by a
// high-pass, edges included, and all of them by the others.
func TestConstantAndDrift(t *testing.T) {
	rows := newRows(3, 30000)
	for i := range rows[0] {
		rows[0][i] = 10000
		rows[1][i] = -10000 + 0.5*float64(i)
		rows[2][i] = 10000 - 0.01*float64(i)
	}
	for _, d := range []Design{{HighPass: 0.1}, {HighPass: 0.1, LowPass: 30}, {LowPass: 30}, {Notch: 50}} {
		for i, row := range apply(t, design(t, d, 500), 4096, rows)[0] {
			want := rows[i]
			if d.HighPass > 0 {
				want = make([]float64, len(row))
			}
			if e := furthest(row, want); e > 1e-8 {
				t.Errorf("%+v signal %d: off by %g µV", d, i, e)
			}
		}
	}
}

// TestSines wants sines back by the gain of the response, without delay.
func TestSines(t *testing.T) {
	const rate, n = 500, 40000
	f := design(t, Design{HighPass: 0.1, LowPass: 30, Notch: 60}, rate)
	for _, at := range []float64{0.05, 0.1, 0.12, 0.5, 10, 29, 30, 33, 50, 60, 180} {
		rows := newRows(1, n)
		for i := range rows[0] {
			rows[0][i] = 100 * math.Sin(2*math.Pi*at*float64(i)/rate+1)
		}
		got, gain, m := apply(t, f, 1000, rows)[0][0], f.Response(unit.Frequency(at)), f.Reach()
		for i := m; i < n-m; i++ { // where no reflection is seen
			if e := math.Abs(got[i] - gain*rows[0][i]); e > 1e-9 {
				t.Fatalf("%v Hz: sample %d is off by %g", at, i, e)
			}
		}
	}
}

// TestImpulseResponse wants an impulse to become the taps around its place.
func TestImpulseResponse(t *testing.T) {
	f := design(t, Design{HighPass: 1, LowPass: 40, Notch: 50}, 250)
	h, m := f.Impulse(), f.Reach()
	rows := newRows(1, 6*m)
	const at = 2500
	rows[0][at] = 1
	got := apply(t, f, 100, rows)[0][0]
	if e := furthest(got[at-m:at+m+1], h); e > 1e-15 {
		t.Errorf("the impulse response is off by %g", e)
	}
}

func TestLinearityAndShift(t *testing.T) {
	f := design(t, Design{HighPass: 1, LowPass: 40}, 250)
	rng := rand.New(rand.NewPCG(5, 6))
	n, shift := 5000, 137
	in := random(rng, 2, n+shift)
	mixed, shifted := newRows(1, n), newRows(1, n)
	for i := range n {
		mixed[0][i] = 3*in[0][i] - 0.5*in[1][i]
		shifted[0][i] = in[0][i+shift]
	}
	a := apply(t, f, 999, [][]float64{in[0][:n], in[1][:n]})[0]
	m := apply(t, f, 999, mixed)[0][0]
	for i := range m {
		if e := math.Abs(m[i] - (3*a[0][i] - 0.5*a[1][i])); e > 1e-8 {
			t.Fatalf("sample %d: not linear by %g", i, e)
		}
	}
	later := apply(t, f, 999, shifted)[0][0]
	for i := f.Reach(); i < n-shift-f.Reach(); i++ {
		if e := math.Abs(later[i] - a[0][i+shift]); e > 1e-9 {
			t.Fatalf("sample %d: differs by %g after a shift", i, e)
		}
	}
}

func TestShortSegments(t *testing.T) {
	f := design(t, Design{HighPass: 1, LowPass: 30}, 250)
	rng := rand.New(rand.NewPCG(7, 8))
	short, long := random(rng, 2, f.Shortest()-1), random(rng, 2, f.Shortest())
	got := apply(t, f, 100, short, long, short)
	if got[0] != nil || got[2] != nil || len(got[1][0]) != f.Shortest() {
		t.Error("want only the segment that is long enough")
	}
	alone := apply(t, f, 50, long)
	if !slices.Equal(alone[0][1], got[1][1]) {
		t.Error("a segment depends on the short ones around it")
	}
	const want = "the longest stretch without a gap holds 1.868 s, the filter needs 1.872 s for its high-pass of " +
		"1Hz: raise the cut-off or leave it out"
	for _, err := range f.Apply(blocks(100, short, short), lengths([][][]float64{short, short})) {
		if err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
	}
}

// TestFaults wants an error for blocks that are not what they should be.
func TestFaults(t *testing.T) {
	f := design(t, Design{LowPass: 30}, 250)
	block := func(segment, first, samples, signals int) recording.Block {
		return recording.Block{Segment: segment, First: first, Samples: newRows(signals, samples)}
	}
	ragged := block(0, 0, 100, 2)
	ragged.Samples[1] = ragged.Samples[1][:50]
	broken := errors.New("broken disc")
	for _, c := range []struct {
		blocks []recording.Block
		err    error // after them
		want   string
	}{
		{[]recording.Block{block(0, 1, 100, 2)}, nil,
			"samples 1 to 101 of segment 0: expected sample 0 of segment 0"},
		{[]recording.Block{block(0, 0, 100, 2), block(0, 200, 100, 2)}, nil,
			"samples 200 to 300 of segment 0: expected sample 100"},
		{[]recording.Block{block(1, 0, 100, 2)}, nil, "expected sample 0 of segment 0"},
		{[]recording.Block{block(0, 0, 100, 2), block(1, 0, 100, 2)}, nil,
			"expected sample 100 of segment 0, which holds 400"},
		{[]recording.Block{block(0, 0, 500, 2)}, nil, "which holds 400"},
		{[]recording.Block{block(7, 0, 100, 2)}, nil, "block of segment 7: there are 2, counted from 0"},
		{[]recording.Block{block(-1, 0, 100, 2)}, nil, "block of segment -1"},
		{[]recording.Block{block(0, 0, 100, 0)}, nil, "block without signals"},
		{[]recording.Block{block(0, 0, 100, 2), block(0, 100, 100, 3)}, nil,
			"block of 3 signals after blocks of 2"},
		{[]recording.Block{ragged}, nil, "block of signals with 100 and 50 samples"},
		{[]recording.Block{block(0, 0, 100, 2)}, nil,
			"the blocks end with sample 100 of segment 0: expected all 300 samples of segment 1"},
		{nil, nil, "the blocks end with sample 0 of segment 0"},
		{[]recording.Block{block(0, 0, 100, 2)}, broken, "broken disc"},
	} {
		seq := func(yield func(recording.Block, error) bool) {
			for _, b := range c.blocks {
				if !yield(b, nil) {
					return
				}
			}
			if c.err != nil {
				yield(recording.Block{}, c.err)
			}
		}
		var last error
		for _, err := range f.Apply(iter.Seq2[recording.Block, error](seq), []int{400, 300}) {
			if last != nil {
				t.Error("the sequence goes on after an error")
			}
			last = err
		}
		if last == nil || !strings.Contains(last.Error(), c.want) {
			t.Errorf("got %v, want an error with %q", last, c.want)
		}
	}
}

// TestStop wants a loop that ends early to end the reading.
func TestStop(t *testing.T) {
	f := design(t, Design{LowPass: 30}, 250)
	read := 0
	seq := func(yield func(recording.Block, error) bool) {
		for b, err := range blocks(500, random(rand.New(rand.NewPCG(1, 1)), 2, 100000)) {
			read++
			if !yield(b, err) {
				return
			}
		}
	}
	for range f.Apply(seq, []int{100000}) {
		break
	}
	if read > 100 {
		t.Errorf("%d blocks were read for the first one that is filtered", read)
	}
}
