package erp

import (
	"cmp"
	"fmt"
	"slices"
)

// mostOpen is how many bytes the epochs may take that a moment lies in: at 64
// sites and 500 samples, 4,000 of them.
const mostOpen = 1 << 30

// crowded refuses events that lie so close together that the epochs which are
// open at once fill the memory. A person sees no two stimuli so near; a channel
// that is no trigger, or a damaged table, has them.
func (pl *plan) crowded() error {
	s := newScissor(pl.window)
	longest := 1
	type moment struct{ segment, sample int }
	var begins, ends []moment
	for _, o := range pl.onsets {
		longest = max(longest, s.length(o))
		begins = append(begins, moment{o.segment, s.start(o)})
		ends = append(ends, moment{o.segment, s.start(o) + s.length(o)})
	}
	later := func(a, b moment) int {
		return cmp.Or(cmp.Compare(a.segment, b.segment), cmp.Compare(a.sample, b.sample))
	}
	slices.SortFunc(begins, later)
	slices.SortFunc(ends, later)
	most := max(1, mostOpen/8/longest/len(pl.signals()))
	ended := 0
	for begun, at := range begins {
		for later(ends[ended], at) <= 0 {
			ended++
		}
		if open := begun + 1 - ended; open > most {
			start := pl.Segments[at.segment].Start + float64(at.sample)/pl.window.Rate
			return fmt.Errorf("more than %d epochs overlap at %.4g s: expected events farther apart; "+
				"look at what "+
				"marks them, or give a shorter epoch", most, start)
		}
	}
	return nil
}
