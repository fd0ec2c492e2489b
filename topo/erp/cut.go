package erp

import (
	"iter"
	"slices"

	"calotte/topo/recording"
)

// An onset is an event's sample in a gap-free segment of a recording.
type onset struct {
	segment, sample int
	event           int // index of the caller's
}

// An epoch is the samples around one onset. Samples, signal × sample, belong to
// the next epoch once the loop body returns.
type epoch struct {
	event   int
	samples [][]float64
}

// cut copies the window around each onset out of the blocks and yields it as
// soon as it is whole, in the order of the windows' ends. It holds only the
// windows that the current block touches. Onsets must have their whole window
// inside their segment.
func cut(blocks iter.Seq2[recording.Block, error], onsets []onset, w Window) iter.Seq2[epoch, error] {
	waiting := slices.Clone(onsets)
	slices.SortFunc(waiting, func(a, b onset) int {
		if a.segment != b.segment {
			return a.segment - b.segment
		}
		return a.sample - b.sample
	})
	return func(yield func(epoch, error) bool) {
		var open []opened
		var spare [][][]float64
		for block, err := range blocks {
			if err != nil {
				yield(epoch{}, err)
				return
			}
			end := block.First + len(block.Samples[0])
			for len(waiting) > 0 && waiting[0].segment == block.Segment && waiting[0].sample+w.First < end {
				var samples [][]float64
				if n := len(spare); n > 0 {
					samples, spare = spare[n-1], spare[:n-1]
				} else {
					samples = newTable(len(block.Samples), w.Len())
				}
				open = append(open, opened{waiting[0].sample + w.First, epoch{waiting[0].event, samples}})
				waiting = waiting[1:]
			}
			for _, o := range open {
				o.fill(block)
			}
			for len(open) > 0 && open[0].start+w.Len() <= end {
				if !yield(open[0].epoch, nil) {
					return
				}
				spare = append(spare, open[0].samples)
				open = open[1:]
			}
			if len(waiting) == 0 && len(open) == 0 {
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
