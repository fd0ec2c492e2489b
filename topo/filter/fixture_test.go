package filter

import (
	"iter"
	"testing"

	"calotte/topo/recording"
)

func design(t testing.TB, d Design, rate float64) *Filter {
	t.Helper()
	f, err := New(d, rate)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// blocks yields segments, each signal × sample, in blocks of n samples, in
// memory that it spoils between them.
func blocks(n int, segments ...[][]float64) iter.Seq2[recording.Block, error] {
	return func(yield func(recording.Block, error) bool) {
		for s, rows := range segments {
			memory := newRows(len(rows), n)
			for first := 0; first < len(rows[0]); first += n {
				b := recording.Block{Segment: s, First: first}
				for i, row := range rows {
					part := memory[i][:copy(memory[i], row[first:])]
					b.Samples = append(b.Samples, part)
				}
				if !yield(b, nil) {
					return
				}
				for _, row := range memory {
					for i := range row {
						row[i] = 1e9
					}
				}
			}
		}
	}
}

func lengths(segments [][][]float64) []int {
	var all []int
	for _, rows := range segments {
		all = append(all, len(rows[0]))
	}
	return all
}

// apply filters segments that arrive in blocks of n samples. Those left out are
// nil.
func apply(t testing.TB, f *Filter, n int, segments ...[][]float64) [][][]float64 {
	t.Helper()
	out := make([][][]float64, len(segments))
	for b, err := range f.Apply(blocks(n, segments...), lengths(segments)) {
		if err != nil {
			t.Fatal(err)
		}
		if out[b.Segment] == nil {
			out[b.Segment] = make([][]float64, len(b.Samples))
		}
		for i, row := range b.Samples {
			if len(out[b.Segment][i]) != b.First {
				t.Fatalf("segment %d: block from %d after %d samples", b.Segment, b.First,
					len(out[b.Segment][i]))
			}
			out[b.Segment][i] = append(out[b.Segment][i], row...)
		}
	}
	return out
}
