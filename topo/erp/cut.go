package erp

import (
	"cmp"
	"iter"
	"slices"

	"calotte/topo/recording"
)

// An onset is an event's sample in a gap-free segment of a recording.
type onset struct {
	segment, sample int
	conditions      []int // of the caller's, for which the event counts
}

// An epoch is the samples around one onset, signal × sample.
type epoch struct {
	conditions []int
	samples    [][]float64
}

// A scissor cuts epochs of one window. It holds only those that the current
// block touches and those that were yielded and not yet returned.
type scissor struct {
	window Window
	spare  chan [][]float64 // memory of returned epochs
}

func newScissor(w Window) *scissor {
	return &scissor{w, make(chan [][]float64, 2*readAhead)}
}

// give returns the memory of an epoch, to be used by a later one. It may be
// called while another goroutine cuts.
func (s *scissor) give(samples [][]float64) {
	select {
	case s.spare <- samples:
	default: // enough is spare
	}
}

func (s *scissor) take(signals int) [][]float64 {
	select {
	case samples := <-s.spare:
		return samples
	default:
		return newTable(signals, s.window.Len())
	}
}

// cut copies the window around each onset out of the blocks and yields it as
// soon as it is whole, in the order of time. Onsets may come in any order; each
// must have its whole window inside its segment.
func (s *scissor) cut(blocks iter.Seq2[recording.Block, error], onsets []onset) iter.Seq2[epoch, error] {
	waiting := slices.Clone(onsets)
	slices.SortStableFunc(waiting, func(a, b onset) int {
		return cmp.Or(cmp.Compare(a.segment, b.segment), cmp.Compare(a.sample, b.sample))
	})
	w := s.window
	return func(yield func(epoch, error) bool) {
		if len(waiting) == 0 {
			return
		}
		next := waiting
		var open []opened
		for block, err := range blocks {
			if err != nil {
				yield(epoch{}, err)
				return
			}
			end := block.First + len(block.Samples[0])
			for len(next) > 0 && next[0].segment == block.Segment && next[0].sample+w.First < end {
				open = append(open, opened{next[0].sample + w.First, epoch{next[0].conditions, s.take(len(block.Samples))}})
				next = next[1:]
			}
			for _, o := range open {
				o.fill(block)
			}
			whole := 0
			for whole < len(open) && open[whole].start+w.Len() <= end {
				if !yield(open[whole].epoch, nil) {
					return
				}
				whole++
			}
			open = slices.Delete(open, 0, whole)
			if len(next) == 0 && len(open) == 0 {
				return
			}
		}
	}
}

// An opened epoch is one that the blocks so far have begun to fill.
type opened struct {
	start int // sample of the segment
	epoch
}

// fill copies what the block holds of the epoch.
func (o opened) fill(b recording.Block) {
	for i, signal := range b.Samples {
		if from := o.start - b.First; from >= 0 {
			copy(o.samples[i], signal[from:])
		} else {
			copy(o.samples[i][-from:], signal)
		}
	}
}
