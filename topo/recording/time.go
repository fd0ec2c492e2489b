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

// A Segment is a stretch of records without a gap.
type Segment struct {
	Start   float64 // time of its first sample, s
	Record  int     // its first record
	Records int     // their number
}

// An anchor ties a record to its time; the records up to the next anchor follow
// without a gap. Every segment starts with one. In EDF+D each record's own time
// counts, so records that lie a fraction of a sample off have their own.
type anchor struct {
	start   int64 // ns
	record  int
	segment int
}

// A timeline collects the times of the records, in order.
type timeline struct {
	duration  int64 // of a record, ns
	tolerance int64 // half an interval of the fastest signal, ns
	own       bool  // each record's own time counts (EDF+D)
	last      int64 // start of the last record
	segments  []Segment
	anchors   []anchor
}

func newTimeline(h *Header) *timeline {
	t := &timeline{duration: h.duration(), own: h.Kind == EDFPlusD}
	fastest := 1
	for _, s := range h.Signals {
		fastest = max(fastest, s.SamplesPerRecord)
	}
	t.tolerance = max(1, t.duration/int64(2*fastest))
	return t
}

// next returns the time at which a record without a gap before it starts.
func (t *timeline) next() int64 {
	if len(t.segments) == 0 {
		return 0
	}
	return t.last + t.duration
}

// add appends the next record. Its start was written with a resolution of unit
// nanoseconds: where the record duration is not a multiple of that, a record may
// seem to start that much early or late. It returns false, and changes nothing,
// if the record starts before the one in front of it ends.
func (t *timeline) add(start, unit int64) bool {
	slack := t.tolerance
	if t.duration%unit != 0 {
		slack += unit
	}
	off := start - t.next()
	n := len(t.segments)
	switch {
	case n > 0 && off < -slack:
		return false
	case n == 0 || off > slack:
		record := 0
		if n > 0 {
			record = t.segments[n-1].Record + t.segments[n-1].Records
		}
		t.segments = append(t.segments, Segment{float64(start) / second, record, 1})
		t.anchors = append(t.anchors, anchor{start, record, n})
	default:
		s := &t.segments[n-1]
		a := t.anchors[len(t.anchors)-1]
		record := s.Record + s.Records
		if t.own && start != a.start+int64(record-a.record)*t.duration {
			t.anchors = append(t.anchors, anchor{start, record, n - 1})
		}
		s.Records++
	}
	t.last = start
	return true
}

// fill appends records that follow one another without a gap.
func (t *timeline) fill(records int) {
	t.add(t.next(), 1)
	t.segments[0].Records += records - 1
}

// Sample returns the sample of a signal that is nearest to a time in seconds, as
// a segment and an index within it, and false where none is, before the first
// sample, after the last, or in a gap.
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
