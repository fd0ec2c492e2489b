package erp

import (
	"iter"

	"calotte/topo/filter"
	"calotte/topo/recording"
)

// filtering is the filter of a pipeline for one recording: nil where none is
// asked for.
type filtering struct {
	*filter.Filter
	lengths []int // of the gap-free segments, in samples
}

// newFiltering designs the filter for the rate of the mapped signals. It is an
// error when no stretch of the recording is long enough for it.
func (p *Pipeline) newFiltering(rec *recording.Recording, signal int) (*filtering, error) {
	if p.Filter.IsZero() {
		return nil, nil
	}
	f, err := filter.New(p.Filter, rec.Rate(signal))
	if err != nil {
		return nil, err
	}
	lengths := make([]int, len(rec.Segments))
	for i := range lengths {
		lengths[i] = rec.Samples(i, signal)
	}
	if err := f.Check(lengths); err != nil {
		return nil, err
	}
	return &filtering{f, lengths}, nil
}

// apply filters blocks.
func (f *filtering) apply(blocks iter.Seq2[recording.Block, error]) iter.Seq2[recording.Block, error] {
	if f == nil {
		return blocks
	}
	return f.Apply(blocks, f.lengths)
}

// leavesOut reports whether a segment is too short to be filtered.
func (f *filtering) leavesOut(segment int) bool {
	return f != nil && f.lengths[segment] < f.Shortest()
}
