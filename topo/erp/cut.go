package erp

import (
	"cmp"
	"iter"
	"slices"

	"calotte/layout"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/recording"
)

// An onset is an event's sample in a gap-free segment of a recording.
type onset struct {
	segment, sample int
	before, after   int           // samples to cut beyond the window's ends
	lag             int           // sample of the event from which the baseline counts, from this one
	conditions      []int         // of the caller's, for which the event counts
	trial           int           // index of the caller's
	bad             []layout.Name // sites to repair in this epoch alone
}

// An excerpt is the samples around one onset, signal × sample.
type excerpt struct {
	onset
	samples [][]float64
}

// A scissor cuts epochs of one window. It holds only those that the current
// block touches and those that were yielded and not yet returned.
type scissor struct {
	window epoch.Window
	spare  chan [][]float64 // memory of returned epochs
}

func newScissor(w epoch.Window) *scissor {
	return &scissor{w, make(chan [][]float64, 2*readAhead)}
}

// start is the first sample of an onset's epoch, and length their number.
func (s *scissor) start(o onset) int  { return o.sample + s.window.First - o.before }
func (s *scissor) length(o onset) int { return o.before + s.window.Len() + o.after }

// give returns the memory of an epoch, to be used by a later one. It may be
// called while another goroutine cuts.
func (s *scissor) give(samples [][]float64) {
	select {
	case s.spare <- samples:
	default: // enough is spare
	}
}

func (s *scissor) take(signals, length int) [][]float64 {
	select {
	case samples := <-s.spare:
		if cap(samples[0]) >= length {
			for i := range samples {
				samples[i] = samples[i][:length]
			}
			return samples
		}
	default:
	}
	return matrix.New(signals, length)
}

// cut copies the window around each onset out of the blocks and yields it as
// soon as it is whole, in the order of time. Onsets may come in any order; each
// must have its whole window inside its segment.
func (s *scissor) cut(blocks iter.Seq2[recording.Block, error], onsets []onset) iter.Seq2[excerpt, error] {
	return func(yield func(excerpt, error) bool) {
		if len(onsets) == 0 {
			return
		}
		c := s.begin(onsets)
		for block, err := range blocks {
			if err != nil {
				yield(excerpt{}, err)
				return
			}
			if !c.feed(block, func(e excerpt) bool { return yield(e, nil) }) || c.done() {
				return
			}
		}
	}
}

// touched says which stretches of a recording hold a sample of an epoch. It is
// to be asked in the order of time.
func (s *scissor) touched(onsets []onset) func(segment, first, last int) bool {
	next := s.begin(onsets).next
	reach := make([]int, len(next)) // the farthest end of the epochs up to each
	for i, o := range next {
		reach[i] = s.start(o) + s.length(o)
		if i > 0 && next[i-1].segment == o.segment {
			reach[i] = max(reach[i], reach[i-1])
		}
	}
	begun := 0 // epochs that begin before the end of the stretch
	return func(segment, first, last int) bool {
		for begun < len(next) &&
			(next[begun].segment < segment ||
				next[begun].segment == segment && s.start(next[begun]) < last) {
			begun++
		}
		return begun > 0 && next[begun-1].segment == segment && reach[begun-1] > first
	}
}

// watch passes the blocks on, and shows the epochs in them to see on the way.
// The memory of an epoch is the next one's as soon as see returns.
func (s *scissor) watch(blocks iter.Seq2[recording.Block, error], onsets []onset,
	see func(excerpt)) iter.Seq2[recording.Block, error] {
	return func(yield func(recording.Block, error) bool) {
		c := s.begin(onsets)
		for block, err := range blocks {
			if err == nil {
				c.feed(block, func(e excerpt) bool {
					see(e)
					s.give(e.samples)
					return true
				})
			}
			if !yield(block, err) {
				return
			}
		}
	}
}

// A cutting is the work of a scissor between two blocks.
type cutting struct {
	scissor *scissor
	next    []onset  // not begun
	open    []opened // begun, not whole
}

func (s *scissor) begin(onsets []onset) *cutting {
	waiting := slices.Clone(onsets)
	slices.SortStableFunc(waiting, func(a, b onset) int {
		return cmp.Or(cmp.Compare(a.segment, b.segment), cmp.Compare(s.start(a), s.start(b)))
	})
	return &cutting{scissor: s, next: waiting}
}

func (c *cutting) done() bool { return len(c.next) == 0 && len(c.open) == 0 }

// feed takes the next block and yields the epochs that it completes, each
// before the next one begins, so that they share their memory. It returns false
// when yield does.
func (c *cutting) feed(block recording.Block, yield func(excerpt) bool) bool {
	s, end := c.scissor, block.First+len(block.Samples[0])
	for _, o := range c.open {
		o.fill(block)
	}
	if !c.leave(end, yield) {
		return false
	}
	for len(c.next) > 0 && c.next[0].segment == block.Segment && s.start(c.next[0]) < end {
		o := opened{s.start(c.next[0]), excerpt{c.next[0], s.take(len(block.Samples), s.length(c.next[0]))}}
		o.fill(block)
		c.open, c.next = append(c.open, o), c.next[1:]
		if !c.leave(end, yield) {
			return false
		}
	}
	return true
}

// leave yields the epochs that are whole at the end of a block. They leave in
// the order in which they began, however long each is.
func (c *cutting) leave(end int, yield func(excerpt) bool) bool {
	for len(c.open) > 0 && c.open[0].start+c.scissor.length(c.open[0].onset) <= end {
		if !yield(c.open[0].excerpt) {
			return false
		}
		c.open = c.open[1:]
	}
	return true
}

// An opened epoch is one that the blocks so far have begun to fill.
type opened struct {
	start int // sample of the segment
	excerpt
}

// fill copies what the block holds of the epoch.
func (o opened) fill(b recording.Block) {
	if o.start+len(o.samples[0]) <= b.First {
		return // whole, and waiting for one that began before it
	}
	for i, signal := range b.Samples {
		if from := o.start - b.First; from >= 0 {
			copy(o.samples[i], signal[from:])
		} else {
			copy(o.samples[i][-from:], signal)
		}
	}
}
