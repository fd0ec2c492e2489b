package recording

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// nearest against exact arithmetic on unbounded integers.
func TestNearest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		elapsed := rapid.Int64Range(-longest, longest).Draw(t, "elapsed")
		duration := rapid.Int64Range(1, longest).Draw(t, "duration")
		samples := rapid.IntRange(1, 99_999_999).Draw(t, "samples")
		sum := new(big.Int).Mul(big.NewInt(2*int64(samples)), big.NewInt(elapsed))
		sum.Add(sum, big.NewInt(duration))
		want := sum.Div(sum, big.NewInt(2*duration)) // Euclidean: the floor, as the divisor is positive
		got := nearest(elapsed, duration, samples)
		if !want.IsInt64() {
			want = big.NewInt(math.MaxInt64 * int64(want.Sign()))
		}
		if got != want.Int64() {
			t.Errorf("got %d, want %v", got, want)
		}
	})
}

// Onsets on and beside the half-way points between samples, 160 Hz. In floating
// point 10.003125 s − 10 s is less than half a sample.
func TestNearestHalf(t *testing.T) {
	for _, c := range []struct {
		onset, start float64
		want         int64
	}{
		{0, 0, 0}, {0.003124999, 0, 0}, {0.003125, 0, 1}, {0.00625, 0, 1}, {0.009375, 0, 2},
		{10.003125, 10, 1}, {10.003124999, 10, 0}, {3600.003125, 3600, 1},
		{-0.003125, 0, 0}, {-0.003125001, 0, -1}, {-0.009375, 0, -1}, {-0.009375001, 0, -2},
	} {
		a, _ := nanoseconds(c.onset)
		b, _ := nanoseconds(c.start)
		if got := nearest(a-b, second, 160); got != c.want {
			t.Errorf("onset %v, start %v: sample %d, want %d", c.onset, c.start, got, c.want)
		}
	}
}

func TestNanoseconds(t *testing.T) {
	for _, c := range []struct {
		s  float64
		ns int64
		ok bool
	}{
		{0.1, 100_000_000, true}, {0.333333, 333_333_000, true}, {-2.5e-9, -3, true},
		{86400.123456789, 86_400_123_456_789, true},
		{math.NaN(), 0, false}, {math.Inf(1), 0, false}, {1e18, 0, false},
	} {
		ns, ok := nanoseconds(c.s)
		if ns != c.ns || ok != c.ok {
			t.Errorf("%v s: %d, %v, want %d, %v", c.s, ns, ok, c.ns, c.ok)
		}
	}
}

// discontinuous is EDF+D of 4 samples in records of 1 s: two segments and, in
// the second, a record that its clock puts 0.05 s late, less than half a
// sample.
func discontinuous(t *testing.T) *Recording {
	t.Helper()
	r := &Recording{Header: Header{Kind: EDFPlusD, Records: 5, RecordDuration: 1,
		Signals: []Signal{{SamplesPerRecord: 4}}}, exact: second}
	line := newTimeline(&r.Header)
	for _, start := range []float64{0.5, 1.5, 10, 11.05, 12.05} {
		ns, _ := nanoseconds(start)
		if !line.add(ns, second/100) {
			t.Fatalf("record at %g s refused", start)
		}
	}
	r.Segments, r.anchors = line.segments, line.anchors
	return r
}

func TestSample(t *testing.T) {
	r := discontinuous(t)
	if len(r.Segments) != 2 || r.Segments[0] != (Segment{0.5, 0, 2}) || r.Segments[1] != (Segment{10, 2, 3}) {
		t.Fatalf("segments %v", r.Segments)
	}
	for _, c := range []struct {
		onset          float64
		segment, index int
		ok             bool
	}{
		{0, 0, 0, false},     // the first record starts later than the header says
		{0.374, 0, 0, false}, // more than half a sample early
		{0.375, 0, 0, true},
		{0.5, 0, 0, true},
		{1.5, 0, 4, true},
		{2.374, 0, 7, true},
		{2.375, 0, 0, false}, // nearest to a sample that was not recorded
		{5, 0, 0, false},
		{9.875, 1, 0, true},
		{10.76, 1, 3, true},
		{11.05, 1, 4, true},
		{11.17, 1, 4, true}, // 11.17 − 10 would give 5 without the record's own time
		{12.92, 1, 11, true},
		{13.1, 0, 0, false},
		{1e9, 0, 0, false},
		{math.NaN(), 0, 0, false},
		{math.Inf(1), 0, 0, false},
	} {
		segment, index, ok := r.Sample(c.onset, 0)
		if segment != c.segment || index != c.index || ok != c.ok {
			t.Errorf("onset %g: segment %d, sample %d, %v; want %d, %d, %v", c.onset, segment, index, ok,
				c.segment,
				c.index, c.ok)
		}
	}
}

// Where the times of records of 1/3 s are written with two decimals there is no
// gap.
func TestRoundedTimes(t *testing.T) {
	h := Header{Kind: EDFPlusC, Records: 6, RecordDuration: 0.333333, Signals: []Signal{{SamplesPerRecord: 500}}}
	line := newTimeline(&h)
	for _, start := range []int64{0, 33, 66, 100, 133, 166} {
		if !line.add(start*second/100, second/100) {
			t.Fatalf("record at %d/100 s refused", start)
		}
	}
	if len(line.segments) != 1 || len(line.anchors) != 1 {
		t.Errorf("segments %v, anchors %v; want one each", line.segments, line.anchors)
	}
}

// An event that a sample is at is found at that sample, whatever the rate.
func TestSampleInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5000).Draw(t, "samples per record")
		duration := rapid.SampledFrom([]float64{0.01, 0.1, 0.333333, 0.5, 1, 2, 30}).Draw(t, "duration")
		start := float64(rapid.IntRange(-10, 1e6).Draw(t, "start")) / 1000
		r := &Recording{Header: Header{Records: 1000, RecordDuration: duration,
			Signals: []Signal{{SamplesPerRecord: n}}}}
		r.exact = r.duration()
		line := newTimeline(&r.Header)
		ns, _ := nanoseconds(start)
		line.add(ns, 1)
		line.segments[0].Records = r.Records
		r.Segments, r.anchors = line.segments, line.anchors
		i := rapid.IntRange(0, 1000*n-1).Draw(t, "sample")
		_, got, ok := r.Sample(start+float64(i)/r.Rate(0), 0)
		if !ok || got != i {
			t.Errorf("sample %d found as %d, %v", i, got, ok)
		}
	})
}
