package erp

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"calotte/layout"
	"calotte/topo/recording"
)

// A Result is what a pipeline made of one recording, or of several of one
// person.
type Result struct {
	Montage    *Montage
	Window     Window
	Counts     []Counts // by condition
	Reference  string   // in words
	conditions []*Accumulator
	prefilters []string
	synthetic  bool // the recording's own description says so
}

func (p *Pipeline) newResult(rec *recording.Recording, m *Montage, w Window, pairs int) *Result {
	r := &Result{
		Montage: m, Window: w,
		Counts:     make([]Counts, len(p.Conditions)),
		Reference:  p.Reference.describe(len(m.Sites), m.Reference),
		prefilters: prefilters(rec.Signals, m.Signals),
		synthetic:  strings.Contains(strings.ToLower(rec.Header.Recording), "synthetic"),
	}
	for range p.Conditions {
		r.conditions = append(r.conditions, NewAccumulator(len(m.Sites)+pairs, w.Len()))
	}
	return r
}

// prefilters lists the filters that the header names, each once.
func prefilters(signals []recording.Signal, wanted []int) []string {
	var texts []string
	for _, i := range wanted {
		t := signals[i].Prefilter
		if t != "" && !strings.EqualFold(t, "none") && !slices.Contains(texts, t) {
			texts = append(texts, t)
		}
	}
	return texts
}

// Merge adds the epochs of another recording of the same person, made by the
// same pipeline. It must have the same sites in the same order, the same rate
// and the same reference. On an error nothing is added.
func (r *Result) Merge(o *Result) error {
	switch {
	case !slices.Equal(r.Montage.Names, o.Montage.Names):
		return fmt.Errorf("sites differ from those of the first recording (%s): average recordings of one cap",
			differing(r.Montage.Names, o.Montage.Names))
	case r.Window.Rate != o.Window.Rate:
		return fmt.Errorf("sampling rate %v Hz differs from the first recording's %v Hz: average recordings of one rate", o.Window.Rate, r.Window.Rate)
	case r.Reference != o.Reference:
		return fmt.Errorf("reference %q differs from the first recording's %q: choose one for both", o.Reference, r.Reference)
	case r.Window != o.Window || len(r.conditions) != len(o.conditions):
		return errors.New("epoch or conditions differ from the first recording's: use one pipeline for both")
	}
	for i, c := range o.Counts {
		r.Counts[i].add(c)
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

// differing says how the sites of a second list differ from the first's.
func differing(a, b []layout.Name) string {
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

// Averages turns what p accumulated into one average a condition, under the
// person's name. A condition that kept no epoch is an error that says what
// became of them.
func (r *Result) Averages(p *Pipeline, name string) ([]*Average, error) {
	var out []*Average
	for i, c := range p.Conditions {
		if counts := r.Counts[i]; counts.Kept == 0 {
			return nil, fmt.Errorf("condition %s kept none of its %d epochs (%s): change the epoch, the rejection or the events",
				c.Name, counts.Lost(), counts.Reasons())
		}
		out = append(out, r.average(p, i, name))
	}
	return out, nil
}

func (r *Result) average(p *Pipeline, condition int, name string) *Average {
	counts := r.Counts[condition]
	counts.Rejected = maps.Clone(counts.Rejected)
	sites := len(r.Montage.Sites)
	mean, sem := r.conditions[condition].Mean(), r.conditions[condition].SEM()
	a := &Average{
		Info: Info{
			Kind: Participant, Name: name, Condition: p.Conditions[condition].Name, Epochs: &counts,
			Reference: r.Reference, Baseline: "none", Filters: "none", Rate: r.Window.Rate,
			Repaired: asTexts(p.Repair), Synthetic: r.synthetic,
		},
		Sites: slices.Clone(r.Montage.Sites), Times: r.Window.Times(), Mean: mean[:sites],
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
	return a
}
