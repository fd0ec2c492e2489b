package erp

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"maps"

	"calotte/layout"
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/internal/words"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/reject"
	"calotte/topo/recording"
)

// An EpochSet is the epochs of one condition that were cut before, such as
// saved ones or ones that were cleaned elsewhere.
type EpochSet struct {
	Condition string
	Sites     []string
	Window    epoch.Window
	Rows      []epoch.Row                   // of the epochs, in their order; nil: not known
	Info      average.Info                  // of the average that they were saved with; zero: not known
	Epochs    iter.Seq2[[][]float64, error] // site × sample in µV, as often as they are asked for
}

// Collect takes the epochs into memory, with their rows.
func (set *EpochSet) Collect() (*epoch.Collection, error) {
	e := epoch.NewCollection(set.Sites, set.Window)
	rows := set.Rows
	lose := func() { // the rows of epochs that were not kept, up to the next one that was
		for len(rows) > 0 && !rows[0].Kept {
			e.Add(rows[0], nil)
			rows = rows[1:]
		}
	}
	for samples, err := range set.Epochs {
		if err != nil {
			return nil, err
		}
		row := epoch.Row{Condition: set.Condition, Onset: noResponse, Response: noResponse, Kept: true}
		if set.Rows != nil {
			if lose(); len(rows) == 0 {
				return nil, fmt.Errorf("the array has more epochs than the %d that the index keeps",
					e.Len())
			}
			row, rows = rows[0], rows[1:]
		}
		e.Add(row, samples)
	}
	if lose(); len(rows) > 0 {
		return nil, fmt.Errorf("the array has %s, the index keeps more", words.Number(e.Len(), "epoch"))
	}
	return e, nil
}

// RunEpochs takes a person's epochs through the pipeline from where they are:
// repair, reference, baseline, rejection, average. Each set becomes a condition
// of the pipeline. What belongs before the cutting has to be left out.
func (p *Pipeline) RunEpochs(ctx context.Context, sets ...EpochSet) (*Result, error) {
	switch {
	case len(sets) == 0:
		return nil, errors.New("no epochs are given")
	case !p.Filter.IsZero() || p.Responses != nil || p.Shift != 0 || len(p.Eyes) > 0 || p.Unmix != nil ||
		p.Restore != "":
		return nil, errors.New("filters, components, blinks, the time of events and a lost reference " +
			"belong before " +
			"the cutting: " +
			"average the recording")
	case p.Repair.Found || p.Repair.Marked || p.Reject.Flat > 0 || p.Reject.Clipped:
		return nil, errors.New("found or marked electrodes, flat lines and clipping are for " +
			"recordings: average " +
			"the recording")
	}
	if err := p.check(); err != nil {
		return nil, err
	}
	p.Conditions = nil
	for _, set := range sets {
		if err := CheckName(set.Condition); err != nil {
			return nil, err
		}
		p.Conditions = append(p.Conditions, Condition{Name: set.Condition})
	}
	if err := CheckNames(p.Conditions); err != nil {
		return nil, err
	}
	s := &session{pipeline: p}
	for i := range sets {
		pl, err := p.planEpochs(&sets[i], i)
		if err == nil && i > 0 {
			err = pl.matches(s.plans[0])
		}
		if err != nil {
			return nil, fmt.Errorf("epochs of %s: %w", sets[i].Condition, err)
		}
		s.plans = append(s.plans, pl)
	}
	if err := p.Reject.unmatched(s.plans); err != nil {
		return nil, err
	}
	if p.Repair.Each > 0 {
		if err := s.mend(ctx); err != nil {
			return nil, err
		}
	}
	if p.Reject.Robust || p.SameNumber {
		if err := s.measure(ctx); err != nil {
			return nil, err
		}
	}
	r, err := s.average(ctx)
	if err == nil {
		r.sets = sets
	}
	return r, err
}

// planEpochs is the plan of a set: as if each site were a signal in µV.
func (p *Pipeline) planEpochs(set *EpochSet, condition int) (*plan, error) {
	rec := &recording.Recording{}
	m := &montage.Montage{Sites: set.Sites, Signals: list.Indexes(len(set.Sites)), Reference: set.Info.Reference}
	for _, s := range set.Sites {
		n, err := layout.Parse(s)
		if err != nil {
			n = layout.Name(s) // it can be averaged, though not placed
		}
		m.Names, m.Gains = append(m.Names, n), append(m.Gains, 1)
		rec.Signals = append(rec.Signals, recording.Signal{Label: s, Unit: "uV"})
	}
	pl := &plan{Input: Input{Recording: rec}, montage: m, window: set.Window, clipped: map[string]int{},
		watched: true,
		set:     set}
	err := p.planBaseline(pl)
	if err != nil {
		return nil, fmt.Errorf("baseline: %w", err)
	}
	if pl.repair, err = p.Repair.known(pl.Input, m); err != nil {
		return nil, fmt.Errorf("repair: %w", err)
	}
	if pl.chain, err = p.newChain(pl); err != nil {
		return nil, err
	}
	pl.rules = p.Reject.rules(pl)
	excluded := reject.NewExclusions(p.Reject.Exclude)
	for _, row := range set.Rows {
		if !row.Kept {
			continue // it is not among the epochs
		}
		t := Trial{Source: row.Source, Onset: row.Onset, Response: row.Response, Event: row.Event,
			Verdict: reject.Verdict{Conditions: []string{set.Condition}}}
		o := onset{conditions: []int{condition}, trial: len(pl.trials)}
		t.Other = excludes(excluded, &t, &o, pl, p.Repair.Excluded)
		pl.trials, pl.onsets = append(pl.trials, t), append(pl.onsets, o)
	}
	return pl, nil
}

// cut yields the epochs with their trials. Where nothing is known of the
// trials, they come into being one by one.
func (set *EpochSet) cut(pl *plan, condition int) iter.Seq2[excerpt, error] {
	return func(yield func(excerpt, error) bool) {
		k := 0
		for samples, err := range set.Epochs {
			if err != nil {
				yield(excerpt{}, err)
				return
			}
			if k == len(pl.onsets) {
				if set.Rows != nil {
					yield(excerpt{}, fmt.Errorf("the array has more epochs than the %d that the "+
						"index keeps",
						k))
					return
				}
				pl.onsets = append(pl.onsets, onset{conditions: []int{condition}, trial: k})
				pl.trials = append(pl.trials,
					Trial{Onset: noResponse, Response: noResponse,
						Verdict: reject.Verdict{Conditions: []string{set.Condition}}})
			}
			if !yield(excerpt{pl.onsets[k], samples}, nil) {
				return
			}
			k++
		}
		if k < len(pl.onsets) {
			yield(excerpt{}, fmt.Errorf("the array has %d epochs, the index keeps %d", k, len(pl.onsets)))
		}
	}
}

// remember lays over the information of an average what its epochs went through
// before.
func (set *EpochSet) remember(info *average.Info, p *Pipeline) {
	before := set.Info
	info.Labels, info.Shares, info.Timing = before.Labels, before.Shares, before.Timing
	info.Unmixed, info.Blinks, info.Filters = before.Unmixed, before.Blinks, before.Filters
	info.Synthetic = info.Synthetic || before.Synthetic
	info.Notes = list.AppendNew(info.Notes, before.Notes...)
	info.Repaired, info.Repairs = list.AppendNew(info.Repaired, before.Repaired...), append(info.Repairs,
		before.Repairs...)
	if len(before.Mended) > 0 {
		mended := maps.Clone(before.Mended)
		mended.Add(info.Mended)
		info.Mended = mended
	}
	if p.Reference.String() == "recorded" {
		info.Reference = before.Reference
	}
	if p.Baseline == nil {
		info.Baseline = before.Baseline
	}
	if before.Rejection != "" {
		info.Rejection = joinNonEmpty(before.Rejection, info.Rejection)
	}
	if before.Epochs != nil {
		lost := *before.Epochs
		lost.Kept = 0
		counts := *info.Epochs
		counts.Add(lost)
		info.Epochs = &counts
	}
}

func joinNonEmpty(a, b string) string {
	if b == "" {
		return a
	}
	return a + "; then " + b
}
