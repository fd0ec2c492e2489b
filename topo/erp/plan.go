package erp

import (
	"fmt"
	"slices"

	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/eye"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/reject"
	"calotte/topo/recording"
)

// A session is the recordings of one person on their way through a pipeline.
type session struct {
	pipeline *Pipeline
	plans    []*plan
	eyes     *eye.Coefficients // nil: blinks stay
	limits   reject.Limits     // on the peak-to-peak amplitude, from the data; nil: as the pipeline says
	judged   bool              // all trials have been held against the limits
}

// A plan is all that is fixed of one recording before its samples are read, and
// what becomes of its trials.
type plan struct {
	Input
	montage  *montage.Montage
	window   epoch.Window
	baseline epoch.Window // samples about the conditions' events; zero: none
	filter   *filtering
	eyes     *eyes
	rules    rules
	repair   []average.Repaired
	chain    *chain // as far as it is known
	trials   []Trial
	onsets   []onset        // of the trials that can be cut
	set      *EpochSet      // epochs that were cut before; nil: they are cut here
	watched  bool           // the trials have been looked at as they were recorded
	clipped  map[string]int // samples by site
	cautions []string
}

// plan opens the recordings' plans.
func (s *session) plan(inputs []Input) error {
	for _, in := range inputs {
		pl, err := s.pipeline.plan(in)
		if err != nil {
			return named(in, err)
		}
		if len(s.plans) > 0 {
			if err := pl.matches(s.plans[0]); err != nil {
				return named(in, err)
			}
		}
		s.plans = append(s.plans, pl)
	}
	return s.pipeline.Reject.unmatched(s.plans)
}

// matches refuses a recording that cannot be averaged with the first one.
func (pl *plan) matches(first *plan) error {
	switch {
	case !slices.Equal(pl.montage.Names, first.montage.Names):
		return fmt.Errorf("sites differ from those of the first recording (%s): average recordings of "+
			"one cap, or "+
			"repair the bad sites of each",
			differing(first.montage.Names, pl.montage.Names))
	case pl.window != first.window:
		return fmt.Errorf("sampling rate %v Hz differs from the first recording's %v Hz: average recordings "+
			"of one rate", pl.window.Rate, first.window.Rate)
	case pl.eyes != nil && len(pl.eyes.sums) > 0 && !slices.Equal(pl.montage.Others, first.montage.Others):
		return fmt.Errorf("ears and mastoids differ from those of the first recording (%s): blinks are "+
			"taken out by "+
			"one regression for all, so average recordings of one montage",
			differing(first.montage.Others, pl.montage.Others))
	case pl.montage.Reference != first.montage.Reference:
		return fmt.Errorf("recorded reference %q differs from the first recording's %q: average "+
			"recordings of one",
			pl.montage.Reference, first.montage.Reference)
	}
	return nil
}

// A RecordingError is what went wrong with one of several recordings.
type RecordingError struct {
	Name string // of the Input
	Err  error
}

// Error implements error.
func (e *RecordingError) Error() string { return e.Name + ": " + e.Err.Error() }

// Unwrap returns what went wrong.
func (e *RecordingError) Unwrap() error { return e.Err }

// named says of which recording an error is, where it has a name.
func named(in Input, err error) error {
	if in.Name == "" {
		return err
	}
	return &RecordingError{in.Name, err}
}

func (p *Pipeline) plan(in Input) (*plan, error) {
	m, err := montage.New(in.Signals, montage.Options{Aside: p.aside(in), Restore: p.Restore})
	if err != nil {
		return nil, err
	}
	pl := &plan{Input: in, montage: m, clipped: map[string]int{}}
	if pl.window, err = epoch.NewWindow(p.Epoch, in.Rate(m.Signals[0])); err != nil {
		return nil, fmt.Errorf("epoch: %w", err)
	}
	if pl.window.Len() < 2 {
		return nil, fmt.Errorf("epoch: %v holds one sample at %v Hz: give a longer range", p.Epoch,
			pl.window.Rate)
	}
	if err := p.planBaseline(pl); err != nil {
		return nil, fmt.Errorf("baseline: %w", err)
	}
	if pl.eyes, err = newEyes(p.Eyes, p.sidewaysChannel(m), in.Signals, m); err != nil {
		return nil, err
	}
	pl.cautions = pl.eyes.cautions(m)
	if pl.repair, err = p.Repair.known(in, m); err != nil {
		return nil, fmt.Errorf("repair: %w", err)
	}
	if pl.chain, err = p.newChain(pl); err != nil {
		return nil, err
	}
	if pl.filter, err = p.newFiltering(in.Recording, m.Signals[0]); err != nil {
		return nil, err
	}
	pl.rules = p.Reject.rules(pl)
	p.findTrials(pl)
	return pl, pl.crowded()
}

// planBaseline finds the samples of the baseline. It lies in the epoch, unless
// that is about responses: then it is before the stimulus, wherever that was.
func (p *Pipeline) planBaseline(pl *plan) error {
	if p.Baseline == nil {
		return nil
	}
	var err error
	pl.baseline, err = epoch.NewWindow(*p.Baseline, pl.window.Rate)
	if err == nil && !p.locked() {
		_, _, err = pl.window.Within(*p.Baseline)
	}
	return err
}

// markedBad is why an electrode is left out that was marked so.
const markedBad = "marked bad"

// aside are the signals that are no EEG, and those that are marked bad and stay
// bad.
func (p *Pipeline) aside(in Input) map[int]string {
	aside := in.NoEEG()
	if !p.Repair.Marked {
		for _, i := range in.Bad {
			if !p.Repair.names(in.Signals[i].Label) {
				aside[i] = markedBad
			}
		}
	}
	return aside
}

// signals are those to be read: of the montage, then of the eyes.
func (pl *plan) signals() []int {
	return append(slices.Clone(pl.montage.Signals), pl.eyes.signals()...)
}

// lost says why a window that was not wholly recorded is not averaged.
var lost = map[recording.Coverage]string{
	recording.AcrossGap: reject.AcrossGap,
	recording.Outside:   reject.OutsideData,
}

// findTrials lists the events that conditions ask for, and places those that
// can be cut. Of events of one condition at one sample, as a label and its code
// may be, the first one counts.
func (p *Pipeline) findTrials(pl *plan) {
	type place struct{ segment, sample int }
	index := map[place]int{} // in the onsets
	excluded := reject.NewExclusions(p.Reject.Exclude)
	for _, c := range p.candidates(pl.Recording) {
		t := Trial{Source: pl.Name, Onset: c.marked.Onset, Response: c.response, Event: aboutEvent(c.marked),
			Verdict: reject.Verdict{Conditions: p.names(c.conditions), Other: c.reason}}
		var o onset
		if t.Other == "" {
			o, t.Other = pl.place(c)
		}
		if t.Other == "" {
			t.Other = excludes(excluded, &t, &o, pl, p.Repair.Excluded)
		}
		if t.Other != "" {
			pl.trials = append(pl.trials, t)
			continue
		}
		at := place{o.segment, o.sample}
		i, seen := index[at]
		if !seen {
			index[at] = len(pl.onsets)
			o.conditions, o.trial = c.conditions, len(pl.trials)
			pl.onsets, pl.trials = append(pl.onsets, o), append(pl.trials, t)
			continue
		}
		first := &pl.onsets[i]
		for _, c := range c.conditions {
			again := t
			again.Conditions = p.names([]int{c})
			if slices.Contains(first.conditions, c) {
				again.Other = reject.Repeated
				pl.trials = append(pl.trials, again)
				continue
			}
			first.conditions = append(slices.Clone(first.conditions), c)
			of := &pl.trials[first.trial].Conditions
			*of = append(*of, p.Conditions[c].Name)
		}
	}
}

// place finds the samples of a candidate's epoch and baseline, and says why not
// where they were not all recorded.
func (pl *plan) place(c candidateTrial) (o onset, reason string) {
	signal := pl.montage.Signals[0]
	first, last := pl.window.First, pl.window.Last
	if c.zero != c.event {
		segment, sample, coverage := pl.Window(c.event, 0, 0, signal)
		if reason := lost[coverage]; reason != "" {
			return o, reason
		}
		zeroSegment, zero, ok := pl.Sample(c.zero, signal)
		if ok && segment != zeroSegment {
			return o, reject.AcrossGap
		}
		o.lag = sample - zero
	}
	if pl.baseline.Rate > 0 {
		first, last = min(first, o.lag+pl.baseline.First), max(last, o.lag+pl.baseline.Last)
	}
	o.before, o.after = pl.window.First-first, last-pl.window.Last
	segment, sample, coverage := pl.Window(c.zero, first, last, signal)
	if reason := lost[coverage]; reason != "" {
		return o, reason
	}
	if pl.filter.leavesOut(segment) {
		return o, reject.TooShort
	}
	o.segment, o.sample = segment, sample
	return o, ""
}
