package erp

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"calotte/layout"
	"calotte/topo/recording"
	"calotte/topo/unit"
)

// Reasons for which an epoch is not averaged, as they stand in the counts.
const (
	OutsideData = "outside the data"
	PeakToPeak  = "peak to peak"
)

// A Pipeline is the way from a recording to the averages of its conditions.
type Pipeline struct {
	Conditions []Condition
	Epoch      unit.Span
	Baseline   *unit.Span // nil: none is subtracted
	Reference  Reference
	Reject     unit.Voltage   // largest peak-to-peak amplitude at any site; zero: no limit
	Repair     []layout.Name  // sites to replace by the spline of the others
	Surface    layout.Surface // where the sites are, for the repair
}

// A Result is what a pipeline made of one recording, or of several of one
// person.
type Result struct {
	Montage    *Montage
	Window     Window
	Counts     []Counts // by condition
	Reference  string   // in words
	conditions []*Accumulator
	prefilters []string
	synthetic  bool
}

// Run cuts, cleans and accumulates the epochs of one recording. It stops early
// when the context ends.
func (p *Pipeline) Run(ctx context.Context, rec *recording.Recording) (*Result, error) {
	m, err := NewMontage(rec.Signals)
	if err != nil {
		return nil, err
	}
	w, err := NewWindow(p.Epoch, rec.Rate(m.Signals[0]))
	if err != nil {
		return nil, err
	}
	chain, err := p.newChain(m, w)
	if err != nil {
		return nil, err
	}
	r := &Result{
		Montage: m, Window: w,
		Counts:     make([]Counts, len(p.Conditions)),
		Reference:  p.Reference.describe(len(m.Sites), m.Reference),
		prefilters: prefilters(rec.Signals, m.Signals),
		synthetic:  strings.Contains(strings.ToLower(rec.Header.Recording), "synthetic"),
	}
	for range p.Conditions {
		r.conditions = append(r.conditions, NewAccumulator(len(m.Sites)+len(chain.pairs), w.Len()))
	}
	onsets := p.onsets(rec, m.Signals[0], r)
	for e, err := range cut(rec.Blocks(m.Signals), onsets, w) {
		if err != nil {
			return nil, err
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		trace, kept := chain.clean(e.samples)
		for _, c := range p.conditionsOf(rec.Events[e.event].Text) {
			if !kept {
				r.reject(c, PeakToPeak)
				continue
			}
			r.Counts[c].Kept++
			r.conditions[c].Add(trace)
		}
	}
	return r, nil
}

// conditionsOf returns the indexes of the conditions that an event belongs to.
func (p *Pipeline) conditionsOf(label string) []int {
	var of []int
	for i, c := range p.Conditions {
		if slices.Contains(c.Labels, label) {
			of = append(of, i)
		}
	}
	return of
}

// onsets finds the samples of the wanted events, and counts in r those whose
// window is not whole.
func (p *Pipeline) onsets(rec *recording.Recording, signal int, r *Result) []onset {
	var onsets []onset
	for i, e := range rec.Events {
		wanted := p.conditionsOf(e.Text)
		if wanted == nil {
			continue
		}
		segment, sample, ok := rec.Sample(e.Onset, signal)
		if ok && sample+r.Window.First >= 0 && sample+r.Window.Last < rec.Samples(segment, signal) {
			onsets = append(onsets, onset{segment, sample, i})
			continue
		}
		for _, c := range wanted {
			r.reject(c, OutsideData)
		}
	}
	return onsets
}

func (r *Result) reject(condition int, reason string) {
	c := &r.Counts[condition]
	if c.Rejected == nil {
		c.Rejected = map[string]int{}
	}
	c.Rejected[reason]++
}

// prefilters lists the filters that the header names, each once.
func prefilters(signals []recording.Signal, wanted []int) []string {
	var texts []string
	for _, i := range wanted {
		if t := signals[i].Prefilter; t != "" && !slices.Contains(texts, t) {
			texts = append(texts, t)
		}
	}
	return texts
}

// Merge adds the epochs of another recording of the same person. It must have
// the same sites in the same order, the same rate and the same reference.
func (r *Result) Merge(o *Result) error {
	switch {
	case !slices.Equal(r.Montage.Names, o.Montage.Names):
		return fmt.Errorf("sites differ from those of the first recording (%s): average recordings of one cap",
			difference(r.Montage.Names, o.Montage.Names))
	case r.Window.Rate != o.Window.Rate:
		return fmt.Errorf("sampling rate %v Hz differs from the first recording's %v Hz", o.Window.Rate, r.Window.Rate)
	case r.Reference != o.Reference:
		return fmt.Errorf("reference %q differs from the first recording's %q", o.Reference, r.Reference)
	}
	for i, c := range o.Counts {
		r.Counts[i].Kept += c.Kept
		for reason, n := range c.Rejected {
			for range n {
				r.reject(i, reason)
			}
		}
		if err := r.conditions[i].Merge(o.conditions[i]); err != nil {
			return err
		}
	}
	for _, t := range o.prefilters {
		if !slices.Contains(r.prefilters, t) {
			r.prefilters = append(r.prefilters, t)
		}
	}
	r.synthetic = r.synthetic || o.synthetic
	return nil
}

// difference names the sites that only one of two lists has.
func difference(a, b []layout.Name) string {
	var texts []string
	for _, n := range a {
		if !slices.Contains(b, n) {
			texts = append(texts, string(n)+" is missing")
		}
	}
	for _, n := range b {
		if !slices.Contains(a, n) {
			texts = append(texts, string(n)+" is new")
		}
	}
	if texts == nil {
		return "their order"
	}
	return strings.Join(texts, ", ")
}

// Averages turns what was accumulated into one average a condition. A condition
// that kept no epoch is an error that says what became of them.
func (r *Result) Averages(p *Pipeline, name string) ([]*Average, error) {
	var out []*Average
	for i, c := range p.Conditions {
		counts := r.Counts[i]
		if counts.Kept == 0 {
			return nil, fmt.Errorf("condition %s kept none of its %d epochs (%s)", c.Name, counts.Lost(), counts.Reasons())
		}
		sites := len(r.Montage.Sites)
		mean, sem := r.conditions[i].Mean(), r.conditions[i].SEM()
		a := &Average{
			Info: Info{
				Kind: Participant, Name: name, Condition: c.Name, Epochs: &counts,
				Reference: r.Reference, Baseline: "none", Filters: "none", Rate: r.Window.Rate,
				Repaired: asTexts(p.Repair), Synthetic: r.synthetic,
			},
			Sites: r.Montage.Sites, Times: r.Window.Times(), Mean: mean[:sites],
		}
		if p.Baseline != nil {
			a.Info.Baseline = p.Baseline.String()
		}
		if len(r.prefilters) > 0 {
			a.Info.Filters = "none; the amplifier's: " + strings.Join(r.prefilters, " | ")
		}
		a.Pairs.Names, _, _ = mirrors(a.Sites)
		a.Pairs.Mean = mean[sites:]
		if sem != nil {
			a.SEM, a.Pairs.SEM = sem[:sites], sem[sites:]
		}
		out = append(out, a)
	}
	return out, nil
}
