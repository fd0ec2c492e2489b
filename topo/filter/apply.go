package filter

import (
	"iter"

	"calotte/topo/recording"
)

// Apply filters a sequence of blocks: the gap-free segments in order, each from
// its first sample to its last, as [recording.Recording.Blocks] yields them.
// lengths are the segments' numbers of samples. The blocks that come out cover
// the same samples, cut differently; the next one reuses their memory. A
// segment shorter than [Filter.Shortest] is left out; it is an error when all
// of them are (see [Filter.Check]). An error of the blocks ends the sequence.
//
// Signals keep their units. The memory used does not grow with the recording: a
// signal takes up to six times the length of the filter, 8 bytes a sample (64
// signals at 500 Hz from 0.1 Hz on: 42 MB). All CPUs that Go may use take part,
// with the same result for any number of them and for any size of blocks.
func (f *Filter) Apply(blocks iter.Seq2[recording.Block, error], lengths []int) iter.Seq2[recording.Block, error] {
	return func(yield func(recording.Block, error) bool) {
		if err := f.Check(lengths); err != nil {
			yield(recording.Block{}, err)
			return
		}
		var s *stream
		at := cursor{lengths: lengths}
		for b, err := range blocks {
			if err == nil {
				err = at.follow(b)
			}
			if err != nil {
				yield(recording.Block{}, err)
				return
			}
			n := lengths[b.Segment]
			if n < f.Shortest() {
				continue
			}
			if s == nil {
				s = f.newStream(len(b.Samples), lengths)
			}
			if b.First == 0 {
				s.begin(b.Segment, n)
			}
			if !s.take(b, yield) {
				return
			}
		}
		if err := at.finished(); err != nil {
			yield(recording.Block{}, err)
		}
	}
}
