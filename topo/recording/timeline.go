package recording

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
	own       bool  // each record's own time counts (EDF+D, BDF+D)
	last      int64 // start of the last record
	segments  []Segment
	anchors   []anchor
}

func newTimeline(h *Header) *timeline {
	t := &timeline{duration: h.duration(), own: h.Kind.interrupted()}
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
// nanoseconds: where the record duration is not a multiple of that, a record
// may seem to start that much early or late. It returns false, and changes
// nothing, if the record starts before the one in front of it ends.
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
