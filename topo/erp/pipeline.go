package erp

import (
	"context"
	"errors"
	"fmt"

	"calotte/layout"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/eye"
	"calotte/topo/erp/montage"
	"calotte/topo/filter"
	"calotte/topo/unit"
)

// A Pipeline is the way from the recordings of one person to the averages of
// their conditions. An event that belongs to several conditions counts in each.
type Pipeline struct {
	Conditions []Condition
	Shift      unit.Time  // by which the conditions' events happened later than they are marked
	Responses  *Responses // to the conditions' events; nil: not looked for

	Filter   filter.Design // of the recording, before epochs are cut; zero: none
	Epoch    unit.Span
	Baseline *unit.Span // about the conditions' events; nil: none is subtracted

	Unmix     *Removal      // components that are taken out of the recording; nil: none
	Eyes      []eye.Channel // channels by which blinks are taken out, the vertical one first; none: they stay
	Repair    Repair
	Restore   layout.Name // the recorded reference, to be a site as well; empty: none
	Reference montage.Reference

	Reject     Reject
	Centre     epoch.Centre // that is taken over the epochs; other than the mean it keeps all of them in memory
	Minimum    int          // fewest epochs that a condition may keep
	MostNoise  unit.Voltage // that may be left in a condition, see [average.Measured]; zero: any
	MostSME    unit.Voltage // that may be in a window, the median over sites, see [average.WindowError]; zero: any
	SameNumber bool         // keep as many epochs in each condition, drawn at random
	Seed       uint64       // of the drawing

	Quality Quality

	// Keep, unless nil, is shown every epoch that is averaged: the index of
	// its condition, its trial, and its sites, site × sample in µV, valid
	// until it returns. Epochs come recording by recording, in the order of
	// time. An error ends the run.
	Keep func(condition int, t Trial, sites [][]float64) error
}

// Run cuts, cleans and accumulates the epochs of a person's recordings, in the
// order in which they are given. It stops early when the context ends. Where
// something has to be learned from the data first (bad electrodes, how blinks
// spread, limits of rejection, how many epochs there will be), it passes
// through the recordings twice or three times. Epochs are cut while others are
// averaged, but always added in the order of time: the result does not depend
// on the number of CPUs.
func (p *Pipeline) Run(ctx context.Context, inputs ...Input) (*Result, error) {
	if len(inputs) == 0 {
		return nil, errors.New("no recording is given")
	}
	for _, in := range inputs {
		if in.Recording == nil {
			return nil, fmt.Errorf("input %q has no recording", in.Name)
		}
	}
	if err := p.check(); err != nil {
		return nil, err
	}
	s := &session{pipeline: p}
	if err := s.plan(inputs); err != nil {
		return nil, err
	}
	if err := s.learn(ctx); err != nil {
		return nil, err
	}
	return s.average(ctx)
}

// check refuses settings that no recording can meet.
func (p *Pipeline) check() error {
	if err := p.Reject.check(); err != nil {
		return err
	}
	if p.Minimum < 0 {
		return fmt.Errorf("a minimum of %d epochs: expected a positive number", p.Minimum)
	}
	return nil
}

// names are those of the conditions.
func (p *Pipeline) names(conditions []int) []string {
	names := make([]string, len(conditions))
	for i, c := range conditions {
		names[i] = p.Conditions[c].Name
	}
	return names
}
