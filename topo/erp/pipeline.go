package erp

import (
	"context"
	"fmt"
	"slices"

	"calotte/layout"
	"calotte/topo/filter"
	"calotte/topo/recording"
	"calotte/topo/unit"
)

// Reasons for which an epoch is not averaged, as they stand in the counts.
const (
	OutsideData = "outside the data"
	AcrossGap   = "across a gap"
	TooShort    = "in a stretch too short for the filter"
	PeakToPeak  = "peak to peak"
	Repeated    = "same sample as another event" // of the condition
)

// A Pipeline is the way from a recording to the averages of its conditions. An
// event that belongs to several conditions counts in each.
type Pipeline struct {
	Conditions []Condition
	Filter     filter.Design // of the recording, before epochs are cut; zero: none
	Epoch      unit.Span
	Baseline   *unit.Span // nil: none is subtracted
	Reference  Reference
	Reject     unit.Voltage   // largest peak-to-peak amplitude at any site; zero: no limit
	Repair     []layout.Name  // sites to replace by the spline of the others
	Surface    layout.Surface // where the sites are, for the repair
}

// Run cuts, cleans and accumulates the epochs of one recording. It stops early
// when the context ends. Epochs are cut while others are averaged, but always
// added in the order of time: the result does not depend on the number of CPUs.
func (p *Pipeline) Run(ctx context.Context, rec *recording.Recording) (*Result, error) {
	m, err := NewMontage(rec.Signals)
	if err != nil {
		return nil, err
	}
	w, err := NewWindow(p.Epoch, rec.Rate(m.Signals[0]))
	if err != nil {
		return nil, fmt.Errorf("epoch: %w", err)
	}
	if w.Len() < 2 {
		return nil, fmt.Errorf("epoch: %v holds one sample at %v Hz: give a longer range", p.Epoch, w.Rate)
	}
	chain, err := p.newChain(m, w)
	if err != nil {
		return nil, err
	}
	f, err := p.newFiltering(rec, m.Signals[0])
	if err != nil {
		return nil, err
	}
	r := p.newResult(rec, m, w, len(chain.right))
	if f != nil {
		r.filter, r.Cautions = f.Describe(), f.Cautions(p.Epoch)
	}
	s := newScissor(w)
	for e, err := range ahead(s.cut(f.blocks(rec, m.Signals), p.onsets(rec, r, f)), readAhead) {
		if err == nil {
			err = ctx.Err()
		}
		if err != nil {
			return nil, err
		}
		trace, kept := chain.clean(e.samples)
		if kept {
			r.share(e.conditions)
		}
		for _, c := range e.conditions {
			if kept {
				r.Counts[c].Kept++
				r.conditions[c].Add(trace)
			} else {
				r.Counts[c].reject(PeakToPeak)
			}
		}
		s.give(e.samples)
	}
	return r, nil
}

// onsets finds the samples of the wanted events, and counts in r those whose
// window is not whole. Of events of one condition at one sample, as a label and
// its code may be, the first one counts.
func (p *Pipeline) onsets(rec *recording.Recording, r *Result, f *filtering) []onset {
	signal := r.Montage.Signals[0]
	type place struct{ segment, sample int }
	index := map[place]int{} // in found
	var found []onset
	for _, e := range rec.Events {
		wanted := p.conditionsOf(e)
		if wanted == nil {
			continue
		}
		segment, sample, coverage := rec.Window(e.Onset, r.Window.First, r.Window.Last, signal)
		reason := lost[coverage]
		if reason == "" && f.leavesOut(segment) {
			reason = TooShort
		}
		if reason != "" {
			for _, c := range wanted {
				r.Counts[c].reject(reason)
			}
			continue
		}
		at := place{segment, sample}
		i, seen := index[at]
		if !seen {
			i = len(found)
			index[at] = i
			found = append(found, onset{segment: segment, sample: sample})
		}
		for _, c := range wanted {
			if slices.Contains(found[i].conditions, c) {
				r.Counts[c].reject(Repeated)
				continue
			}
			found[i].conditions = append(found[i].conditions, c)
		}
	}
	return found
}

// lost says why a window that was not wholly recorded is not averaged.
var lost = map[recording.Coverage]string{
	recording.AcrossGap: AcrossGap,
	recording.Outside:   OutsideData,
}

// conditionsOf returns the indexes of the conditions that an event belongs to.
func (p *Pipeline) conditionsOf(e recording.Event) []int {
	var of []int
	for i, c := range p.Conditions {
		if c.Events.Match(e) {
			of = append(of, i)
		}
	}
	return of
}
