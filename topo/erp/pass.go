package erp

import (
	"context"
	"iter"
	"slices"

	"calotte/topo/erp/reject"
)

// each passes through a recording and shows its epochs, as they were cut, in
// the order of time. The samples belong to visit until it returns.
func (s *session) each(ctx context.Context, pl *plan, visit func(excerpt) error) error {
	scissor := newScissor(pl.window)
	epochs := ahead(pl.cut(scissor), readAhead)
	if pl.set != nil {
		epochs = pl.set.cut(pl, slices.Index(s.plans, pl))
	}
	for e, err := range epochs {
		if err == nil {
			err = ctx.Err()
		}
		if err == nil {
			err = visit(e)
		}
		if err != nil {
			return named(pl.Input, err)
		}
		if pl.set == nil {
			scissor.give(e.samples)
		}
	}
	pl.watched = true
	return nil
}

// cut cuts the epochs out of the filtered recording. On the first pass it looks
// at them as they were recorded as well: a filter makes a flat line look alive.
func (pl *plan) cut(s *scissor) iter.Seq2[excerpt, error] {
	blocks := pl.Blocks(pl.signals())
	switch {
	case pl.watched && pl.filter != nil:
		return s.cut(pl.filter.apply(blocks), pl.onsets)
	case pl.filter == nil:
		epochs := s.cut(pl.BlocksWith(pl.signals(), s.touched(pl.onsets)), pl.onsets)
		if pl.watched {
			return epochs
		}
		return func(yield func(excerpt, error) bool) {
			for e, err := range epochs {
				if err == nil {
					pl.see(e)
				}
				if !yield(e, err) {
					return
				}
			}
		}
	}
	return s.cut(pl.filter.apply(newScissor(pl.window).watch(blocks, pl.onsets, pl.see)), pl.onsets)
}

// see holds an epoch as recorded against the rules for such, and counts
// clippings.
func (pl *plan) see(e excerpt) {
	names := pl.montage.SignalNames(pl.Signals)
	samples := e.samples[:len(names)]
	t := &pl.trials[e.trial]
	t.Faults = append(t.Faults, reject.Judge(pl.rules.recorded, names, samples, nil)...)
	for i, row := range samples {
		if n := pl.rules.clipped.Count(i, row); n > 0 {
			pl.clipped[names[i]] += n
		}
	}
}

// judge holds a cleaned epoch against the rules for such.
func (pl *plan) judge(e excerpt, sites [][]float64) {
	t, skip := &pl.trials[e.trial], pl.skip(e)
	for i, name := range pl.montage.Sites {
		if value, limit, broken := pl.rules.swing.Hold(i, pl.chain.swings[i]); broken && !skip[i] {
			t.Faults = append(t.Faults,
				reject.Fault{Site: name, Reason: reject.PeakToPeak, Value: value, Limit: limit})
		}
	}
	t.Faults = append(t.Faults, reject.Judge(pl.rules.cleaned, pl.montage.Sites, sites, skip)...)
}

// skip says which sites are not asked.
func (pl *plan) skip(e excerpt) []bool {
	if len(e.bad) == 0 {
		return pl.chain.repaired
	}
	skip := slices.Clone(pl.chain.repaired)
	for i, n := range pl.montage.Names {
		skip[i] = skip[i] || slices.Contains(e.bad, n)
	}
	return skip
}

// forgive drops the faults of sites that are repaired in an onset's epoch.
func (pl *plan) forgive(o onset) {
	skip := pl.skip(excerpt{onset: o})
	t := &pl.trials[o.trial]
	t.Faults = slices.DeleteFunc(t.Faults, func(f reject.Fault) bool {
		i := slices.Index(pl.montage.Sites, f.Site)
		return i >= 0 && skip[i]
	})
}
