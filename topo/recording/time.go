package recording

import (
	"math"
	"math/bits"
	"sort"
	"strings"
)

// second is the unit of all exact times in this package: nanoseconds. Header
// times have at most seven decimals; finer decimals of an onset are rounded.
const second = 1_000_000_000

// longest bounds a time in nanoseconds, so that sums of a few do not overflow.
const longest = 1 << 61

// nanoseconds rounds a time in seconds. It is false for what is not a number
// and for more than 73 years.
func nanoseconds(s float64) (int64, bool) {
	ns := math.Round(s * second)
	if !(math.Abs(ns) < longest) {
		return 0, false
	}
	return int64(ns), true
}

// decimals returns the number of digits after the point.
func decimals(text string) int {
	_, fraction, _ := strings.Cut(text, ".")
	return len(fraction)
}

// Sample returns the sample of a signal that is nearest to a time in seconds,
// as a segment and an index within it, and false where none is, before the
// first sample, after the last, or in a gap.
//
// Within a segment the index is ⌊(onset − start)·rate + ½⌋, exact for times of
// up to nine decimals: an onset half way between two samples belongs to the
// later. In EDF+D it is counted from the record's own time. Times that count
// from the first sample, as those of BIDS do, must have the start of the first
// segment added.
func (r *Recording) Sample(onset float64, signal int) (segment, index int, ok bool) {
	t, ok := nanoseconds(onset)
	if !ok {
		return 0, 0, false
	}
	samples := r.Signals[signal].SamplesPerRecord
	after := sort.Search(len(r.anchors), func(i int) bool {
		return nearest(t-r.anchors[i].start, r.exact, samples) < 0
	})
	if after == 0 {
		return 0, 0, false
	}
	a := r.anchors[after-1]
	s := r.Segments[a.segment]
	i := nearest(t-a.start, r.exact, samples)
	first := int64(a.record-s.Record) * int64(samples)
	if i >= int64(r.Samples(a.segment, signal))-first {
		return 0, 0, false
	}
	return a.segment, int(first + i), true
}

// Time returns the time in seconds of a sample of a signal, within a
// nanosecond: what [Recording.Sample] takes back to it.
func (r *Recording) Time(segment, index, signal int) float64 {
	samples := r.Signals[signal].SamplesPerRecord
	record := r.Segments[segment].Record + index/samples
	after := sort.Search(len(r.anchors), func(i int) bool { return r.anchors[i].record > record })
	a := r.anchors[after-1]
	whole := a.start + int64(record-a.record)*r.exact
	// The place within a record is below its duration, so 128 bits hold the
	// product.
	hi, lo := bits.Mul64(uint64(index%samples), uint64(r.exact))
	within, _ := bits.Div64(hi, lo, uint64(samples))
	return float64(whole+int64(within)) / second
}

// Samples returns how many samples of a signal a segment holds.
func (r *Recording) Samples(segment, signal int) int {
	return r.Segments[segment].Records * r.Signals[signal].SamplesPerRecord
}

// nearest returns ⌊elapsed·samples/duration + ½⌋ for times in nanoseconds, in
// 128-bit arithmetic. Results beyond 64 bits are cut to the largest.
func nearest(elapsed, duration int64, samples int) int64 {
	// ⌊(2·elapsed·samples + duration) / (2·duration)⌋
	d := uint64(duration)
	if elapsed >= 0 {
		hi, lo := bits.Mul64(uint64(elapsed), 2*uint64(samples))
		lo, carry := bits.Add64(lo, d, 0)
		return quotient(hi+carry, lo, 2*d)
	}
	hi, lo := bits.Mul64(uint64(-elapsed), 2*uint64(samples))
	if hi == 0 && lo <= d {
		return 0
	}
	lo, borrow := bits.Sub64(lo, d, 0)
	hi -= borrow
	lo, carry := bits.Add64(lo, 2*d-1, 0) // the floor of a negative is minus the ceiling
	return -quotient(hi+carry, lo, 2*d)
}

func quotient(hi, lo, d uint64) int64 {
	if hi >= d {
		return math.MaxInt64
	}
	q, _ := bits.Div64(hi, lo, d)
	return int64(min(q, math.MaxInt64))
}
