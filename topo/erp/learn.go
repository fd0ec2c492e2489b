package erp

import (
	"context"
	"slices"
	"strings"

	"calotte/layout"
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/eye"
	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/reject"
	"calotte/topo/erp/screen"
)

// learn passes through the recordings for what has to be known before the
// epochs can be cleaned, and again for what has to be known before they can be
// averaged.
func (s *session) learn(ctx context.Context) error {
	p := s.pipeline
	if len(p.Eyes) > 0 || p.Repair.Found {
		if err := s.look(ctx); err != nil {
			return err
		}
	}
	if p.Repair.Each > 0 {
		if err := s.mend(ctx); err != nil {
			return err
		}
	}
	if p.Reject.Robust || p.SameNumber {
		return s.measure(ctx)
	}
	return nil
}

// look finds how blinks spread and which electrodes are bad. Blinks are one
// person's, bad electrodes one recording's.
func (s *session) look(ctx context.Context) error {
	p := s.pipeline
	var fit *eye.Fit
	for _, pl := range s.plans {
		if len(p.Eyes) > 0 && fit == nil {
			var err error
			if fit, err = eye.NewFit(len(pl.montage.Names)+len(pl.montage.Others), len(p.Eyes),
				pl.window.Len(),
				eye.UsualBlinks); err != nil {
				return err
			}
		}
		screen, err := p.newScreen(pl)
		if err != nil {
			return named(pl.Input, err)
		}
		err = s.each(ctx, pl, func(e excerpt) error {
			rows := within(pl.chain.potentials(e), e, pl.window)
			if fit != nil {
				fit.Add(strings.Join(p.names(e.conditions), " "), rows,
					within(pl.eyes.channels(e.samples), e, pl.window))
			}
			if screen != nil {
				screen.Add(list.Pick(rows, pl.montage.Recorded()))
			}
			return nil
		})
		if err != nil {
			return err
		}
		if err := pl.found(screen); err != nil {
			return named(pl.Input, err)
		}
	}
	if fit == nil {
		return nil
	}
	var err error
	if s.eyes, err = fit.Coefficients(); err != nil {
		return err
	}
	for _, pl := range s.plans {
		pl.chain.blinks = s.eyes
	}
	return nil
}

// within are the rows of a cut epoch without what was cut beyond its window.
func within(rows [][]float64, e excerpt, w epoch.Window) [][]float64 {
	out := make([][]float64, len(rows))
	for i, row := range rows {
		out[i] = row[e.before:][:w.Len()]
	}
	return out
}

// newScreen returns a screen for the recording's sites, nil where none is asked
// for.
func (p *Pipeline) newScreen(pl *plan) (*screen.Screen, error) {
	if !p.Repair.Found {
		return nil, nil
	}
	return screenOf(pl.montage, p.Repair.Surface)
}

// screenOf returns a screen for the recorded sites of a montage.
func screenOf(m *montage.Montage, surface layout.Surface) (*screen.Screen, error) {
	placed, err := layout.Place(surface, list.Pick(m.Names, m.Recorded()))
	if err != nil {
		return nil, err
	}
	return screen.New(layout.Sites(placed))
}

// found takes over what a screen finds: faults are repaired, suspicions noted.
func (pl *plan) found(sc *screen.Screen) error {
	if sc == nil || len(pl.onsets) == 0 {
		return nil
	}
	marks, err := sc.Marks()
	if err != nil {
		return err
	}
	for _, m := range marks {
		switch m.Reason {
		case screen.Exchanged, screen.Buzzing: // an exchange is undone by hand, and muscle is no fault of an electrode
			pl.cautions = append(pl.cautions, m.String()+"; left as it is")
		default:
			if !slices.ContainsFunc(pl.repair, func(r average.Repaired) bool { return r.Site == m.Site }) {
				pl.repair = append(pl.repair,
					average.Repaired{Site: m.Site, Reason: m.Reason, Source: pl.Name})
			}
		}
	}
	return pl.chain.setRepaired(repairedSites(pl.repair))
}

// measure judges all trials, by limits from the data where these are asked for,
// and chooses which are kept where their numbers are to be equal.
func (s *session) measure(ctx context.Context) error {
	p := s.pipeline
	var swings [][]float64 // of all epochs that nobody excluded, by site
	for _, pl := range s.plans {
		err := s.each(ctx, pl, func(e excerpt) error {
			sites, err := pl.chain.clean(e)
			if err != nil {
				return err
			}
			if p.Reject.Robust {
				swings = append(swings, slices.Clone(pl.chain.swings))
			}
			pl.judge(e, sites) // by the limits that are known
			return nil
		})
		if err != nil {
			return err
		}
	}
	if p.Reject.Robust {
		if err := s.limit(swings); err != nil {
			return err
		}
	}
	s.judged = true
	for _, pl := range s.plans {
		for _, o := range pl.onsets {
			pl.forgive(o)
		}
	}
	if p.SameNumber {
		s.sameNumber()
	}
	return nil
}

// limit finds limits for all recordings together and holds the swings, in the
// order of the passes, against them.
func (s *session) limit(swings [][]float64) error {
	limits, err := reject.RobustLimits(swings, reject.UsualDeviations)
	if err != nil {
		return err
	}
	s.limits = limits
	k := 0
	for _, pl := range s.plans {
		for _, o := range pl.inTime() {
			t := &pl.trials[o.trial]
			skip := pl.skip(excerpt{onset: o})
			for i, value := range swings[k] {
				if !skip[i] && !(value <= limits[i]) {
					t.Faults = append(t.Faults,
						reject.Fault{Site: pl.montage.Sites[i], Reason: reject.PeakToPeak,
							Value: value,
							Limit: limits[i]})
				}
			}
			k++
		}
	}
	return nil
}

// inTime are the onsets in the order in which their epochs are cut.
func (pl *plan) inTime() []onset { return newScissor(pl.window).begin(pl.onsets).next }

// LeftOver is the reason for which an epoch is left out that would have been
// kept.
const LeftOver = "left out to have equal numbers"

// sameNumber draws the trials that are averaged, as many in each condition.
func (s *session) sameNumber() {
	p := s.pipeline
	type place struct {
		plan  *plan
		onset int
	}
	kept := make([][]place, len(p.Conditions))
	counts := make([]int, len(p.Conditions))
	for _, pl := range s.plans {
		for k, o := range pl.onsets {
			if !pl.trials[o.trial].Kept() {
				continue
			}
			for _, c := range o.conditions {
				kept[c] = append(kept[c], place{pl, k})
				counts[c]++
			}
		}
	}
	if slices.Min(counts) == 0 {
		return // the condition without epochs is the error, not what it would take from the others
	}
	for c, picks := range epoch.SameNumber(counts, p.Seed) {
		for i, at := range kept[c] {
			if _, picked := slices.BinarySearch(picks, i); !picked {
				at.plan.leaveOut(at.onset, c, p.Conditions[c].Name)
			}
		}
	}
}

// leaveOut takes a trial from one of its conditions.
func (pl *plan) leaveOut(onset, condition int, name string) {
	o := &pl.onsets[onset]
	t := pl.trials[o.trial]
	if len(o.conditions) == 1 {
		pl.trials[o.trial].Other = LeftOver
		return
	}
	o.conditions = slices.DeleteFunc(slices.Clone(o.conditions), func(c int) bool { return c == condition })
	pl.trials[o.trial].Conditions = slices.DeleteFunc(slices.Clone(t.Conditions),
		func(c string) bool { return c == name })
	t.Conditions, t.Other = []string{name}, LeftOver
	pl.trials = append(pl.trials, t)
}
