package erp

import (
	"context"
	"slices"

	"calotte/layout"
	"calotte/topo/erp/reject"
)

// average is the pass that accumulates.
func (s *session) average(ctx context.Context) (*Result, error) {
	var total *Result
	for _, pl := range s.plans {
		parts, err := s.accumulate(ctx, pl)
		if err != nil {
			return nil, err
		}
		for _, r := range parts {
			if total == nil {
				total = r
			} else if err := total.merge(r); err != nil {
				return nil, named(pl.Input, err)
			}
		}
	}
	total.limits, total.eyes = s.limits, s.eyes
	return total, nil
}

// accumulate passes through one recording, or through epochs that were cut of
// several: each recording is a part, since sums depend in the last bit on what
// is added first.
func (s *session) accumulate(ctx context.Context, pl *plan) (parts []*Result, err error) {
	p := s.pipeline
	r, err := p.newResult(pl)
	if err != nil {
		return nil, named(pl.Input, err)
	}
	source, look := "", pl.sidelong()
	err = s.each(ctx, pl, func(e excerpt) error {
		t := &pl.trials[e.trial]
		if s.judged && !t.Kept() {
			return nil
		}
		sites, err := pl.chain.clean(e)
		if err != nil {
			return err
		}
		if !s.judged {
			pl.judge(e, sites)
			pl.forgive(e.onset)
			if !t.Kept() {
				return nil
			}
		}
		if p.Keep != nil {
			round(sites)
		}
		if t.Source != source && source != "" {
			parts = append(parts, r)
			if r, err = p.newResult(pl); err != nil {
				return err
			}
		}
		source = t.Source
		var signal []float64
		if look != nil {
			signal = look.signal(e, pl.chain, sites)
		}
		r.share(e.conditions)
		if reject.LikeBlink(pl.montage.Names, pl.chain.swings) {
			r.blinks++
		}
		for _, c := range e.conditions {
			r.conditions[c].Add(sites)
			r.quality[c].add(sites)
			if signal != nil {
				r.gazes[c].add(signal, sites)
			}
			if r.stacks != nil {
				r.stacks[c].Add(withPairs(sites, pl.chain.pairs)...)
			}
			if p.Keep != nil {
				if err := p.Keep(c, *t, sites); err != nil {
					return err
				}
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	r.Trials, r.Repaired, r.clipped = inOrder(pl.trials), pl.repair, pl.clipped
	r.Cautions = append(append(r.Cautions, pl.cautions...), p.unmixCautions(pl)...)
	r.count()
	return append(parts, r), nil
}

// withPairs are rows, and behind them right minus left of pairs of them.
func withPairs(rows [][]float64, pairs []layout.Pair) [][]float64 {
	out := slices.Clone(rows)
	for _, p := range pairs {
		difference := slices.Clone(rows[p.Right])
		for t, left := range rows[p.Left] {
			difference[t] -= left
		}
		out = append(out, difference)
	}
	return out
}

// round makes of each value the nearest that a saved epoch can hold, so that
// the average of the saved epochs is this one.
func round(rows [][]float64) {
	for _, row := range rows {
		for t, x := range row {
			row[t] = float64(float32(x))
		}
	}
}

// inOrder sorts trials by the time of their events.
func inOrder(trials []Trial) []Trial {
	slices.SortStableFunc(trials, func(a, b Trial) int {
		switch {
		case a.Onset < b.Onset:
			return -1
		case a.Onset > b.Onset:
			return 1
		}
		return 0
	})
	return trials
}
