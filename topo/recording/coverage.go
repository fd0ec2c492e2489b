package recording

// Coverage says how much of a window of samples was recorded.
type Coverage int

const (
	Whole     Coverage = iota // all of it, in one segment
	AcrossGap                 // a part lies in a gap
	Outside                   // a part lies before the first sample or after the last, and none in a gap
)

// String says what to tell a reader of a count.
func (c Coverage) String() string {
	return [...]string{"whole", "across a gap", "outside the data"}[c]
}

// Window places a window on a signal: from first to last, in samples, both
// included, about the sample nearest to a time. Segment and index are that
// sample's. They are meaningless unless the window is [Whole]: there is no way
// to cut what was not recorded, and samples on the two sides of a gap are no
// epoch.
func (r *Recording) Window(onset float64, first, last, signal int) (segment, index int, c Coverage) {
	segment, index, ok := r.Sample(onset, signal)
	if !ok {
		return 0, 0, r.missing(onset)
	}
	before, after := index+first < 0, index+last >= r.Samples(segment, signal)
	switch {
	case before && segment > 0 || after && segment < len(r.Segments)-1:
		return segment, index, AcrossGap
	case before || after:
		return segment, index, Outside
	}
	return segment, index, Whole
}

// missing tells a time in a gap from one before or after the recording.
func (r *Recording) missing(onset float64) Coverage {
	if n := len(r.Segments); n > 0 && onset > r.Segments[0].Start && onset < r.Segments[n-1].Start {
		return AcrossGap
	}
	return Outside
}
