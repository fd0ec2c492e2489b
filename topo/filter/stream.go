package filter

import (
	"math/bits"
	"runtime"
	"sync"
	"sync/atomic"

	"calotte/topo/recording"
)

// yieldBytes is about the size of the blocks that come out: large enough to
// make their number irrelevant, small enough for the cache.
const yieldBytes = 1 << 20

// A stream filters one segment after another by overlap-save. Its window slides
// over a segment in steps: the middle of the window becomes filtered samples,
// the last 2·reach samples become the first ones of the next position.
type stream struct {
	convolver   *convolver
	reach, step int
	rows        [][]float64 // signal × the window's samples
	tails       [][]float64 // signal × 2·reach: the window's last samples before filtering
	views       [][]float64 // of rows, for the blocks that come out

	segment, total int // the current one and its number of samples
	first          int // its sample at index reach of the window
	filled         int // samples in the window, those before the segment included
}

func (f *Filter) newStream(signals int, lengths []int) *stream {
	size := windowSize(f.Taps(), lengths)
	impulse := f.Impulse()
	reach := f.Reach()
	return &stream{
		convolver: newConvolver(size, impulse[reach:]), reach: reach, step: size - 2*reach,
		// Pairs are convolved: where the number is odd, the last goes
		// with zeros.
		rows: newRows(signals+signals%2, size), tails: newRows(signals, 2*reach),
		views: make([][]float64, signals),
	}
}

// padding keeps equal places of neighbouring rows, a power of two apart, from
// competing for one line of the cache; without it the work takes an eighth
// longer.
const padding = 264

func newRows(n, length int) [][]float64 {
	rows, stride := make([][]float64, n), length+padding
	memory := make([]float64, n*stride)
	for i := range rows {
		rows[i] = memory[i*stride:][:length:length]
	}
	return rows
}

// windowSize chooses the window for a filter: the shortest power of two that
// costs at most a quarter more than the cheapest one, since longer ones cost
// memory. A transform of n samples takes about n·(log₂ n + 2) steps.
func windowSize(taps int, lengths []int) int {
	cost := func(size int) int {
		windows, step := 0, size-taps+1
		for _, n := range lengths {
			windows += (n + step - 1) / step
		}
		return windows * size * (bits.Len(uint(size)) + 1)
	}
	shortest := max(leafSize, 1<<bits.Len(uint(taps)))
	least := cost(shortest)
	for size := shortest; size <= 64*shortest; size *= 2 {
		least = min(least, cost(size))
	}
	for size := shortest; ; size *= 2 {
		if cost(size) <= least+least/4 {
			return size
		}
	}
}

// begin starts a segment.
func (s *stream) begin(segment, total int) {
	s.segment, s.total, s.first, s.filled = segment, total, 0, s.reach
}

// take adds a block of the segment, and yields what can be filtered.
func (s *stream) take(b recording.Block, yield func(recording.Block, error) bool) bool {
	size := s.convolver.size
	for done, n := 0, len(b.Samples[0]); done < n; {
		part := min(n-done, size-s.filled)
		for i, row := range b.Samples {
			copy(s.rows[i][s.filled:], row[done:done+part])
		}
		s.filled += part
		done += part
		for s.first < s.total && (s.filled == size || s.ended()) {
			s.filter()
			if !s.yield(yield) {
				return false
			}
			s.slide()
		}
	}
	return true
}

// ended reports whether the window holds the segment's last sample.
func (s *stream) ended() bool { return s.first-s.reach+s.filled == s.total }

// filter replaces the middle of the window by filtered samples, pair by pair of
// signals, on all CPUs.
func (s *stream) filter() {
	pairs := len(s.rows) / 2
	var next atomic.Int64
	var group sync.WaitGroup
	for range min(pairs, runtime.GOMAXPROCS(0)) {
		group.Go(func() {
			for p := int(next.Add(1)) - 1; p < pairs; p = int(next.Add(1)) - 1 {
				s.filterPair(2 * p)
			}
		})
	}
	group.Wait()
}

func (s *stream) filterPair(i int) {
	a, b := s.rows[i], s.rows[i+1]
	s.prepare(i)
	if i+1 < len(s.tails) {
		s.prepare(i + 1)
	} else {
		clear(b)
	}
	s.convolver.pair(a, b)
}

// prepare continues a signal beyond the ends of its segment and saves the tail.
func (s *stream) prepare(i int) {
	row := s.rows[i]
	if s.first == 0 {
		start := row[:s.filled][s.reach:]
		for k := 1; k <= s.reach; k++ {
			row[s.reach-k] = 2*start[0] - start[k]
		}
	}
	if s.ended() {
		known, beyond := row[:s.filled], row[s.filled:]
		last := len(known) - 1
		mirrored := min(s.reach, len(beyond))
		for k := range mirrored {
			beyond[k] = 2*known[last] - known[last-1-k]
		}
		clear(beyond[mirrored:])
	}
	copy(s.tails[i], row[s.step:])
}

// yield passes on the filtered samples.
func (s *stream) yield(yield func(recording.Block, error) bool) bool {
	n := min(s.step, s.total-s.first)
	most := max(1, yieldBytes/8/len(s.views))
	for done := 0; done < n; done += most {
		part := min(most, n-done)
		for i := range s.views {
			s.views[i] = s.rows[i][s.reach+done:][:part]
		}
		if !yield(recording.Block{Segment: s.segment, First: s.first + done, Samples: s.views}, nil) {
			return false
		}
	}
	return true
}

// slide moves the window on by a step.
func (s *stream) slide() {
	for i, tail := range s.tails {
		copy(s.rows[i], tail)
	}
	s.first += s.step
	s.filled = min(2*s.reach, s.total-(s.first-s.reach))
}
