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
	Cautions   []string // what to keep in mind after the filter
	filter     string   // in words, empty: none
	conditions []*Accumulator
	prefilters []string
	shared     [][]bool // whether two conditions have an epoch in common
	mixed      []string // units of the sites, where they differ
	synthetic  bool     // the recording's own description says so
}

func (p *Pipeline) newResult(rec *recording.Recording, m *Montage, w Window, pairs int) *Result {
	r := &Result{
		Montage: m, Window: w,
		Counts:     make([]Counts, len(p.Conditions)),
		Reference:  p.Reference.describe(len(m.Sites), m.Reference),
		prefilters: prefilters(rec.Signals, m.Signals),
		mixed:      m.mixedUnits(rec.Signals),
		synthetic:  strings.Contains(strings.ToLower(rec.Header.Recording), "synthetic"),
	}
	for range p.Conditions {
		r.conditions = append(r.conditions, NewAccumulator(len(m.Sites)+pairs, w.Len()))
		r.shared = append(r.shared, make([]bool, len(p.Conditions)))
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
	case r.filter != o.filter:
		return errors.New("filter differs from the first recording's: use one pipeline for both")
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
	for i, row := range o.shared {
		for j, both := range row {
			r.shared[i][j] = r.shared[i][j] || both
		}
	}
	r.prefilters = appendNew(r.prefilters, o.prefilters...)
	r.mixed = appendNew(r.mixed, o.mixed...)
	r.synthetic = r.synthetic || o.synthetic
	return nil
}

// share notes that an epoch belongs to all of the conditions.
func (r *Result) share(conditions []int) {
	for _, i := range conditions {
		for _, j := range conditions {
			r.shared[i][j] = true
		}
	}
}

// shares names the other conditions that have epochs in common with one.
func (r *Result) shares(p *Pipeline, condition int) []string {
	var names []string
	for i, both := range r.shared[condition] {
		if both && i != condition {
			names = append(names, p.Conditions[i].Name)
		}
	}
	return names
}

// notes say what the reader of the averages has to know of the recordings.
func (r *Result) notes() []string {
	if len(r.mixed) < 2 {
		return nil
	}
	return []string{"the sites were recorded in different units, " + strings.Join(r.mixed, ", ") + ", and brought to µV"}
}

// filters says what was filtered, here and by the amplifier.
func (r *Result) filters() string {
	text := r.filter
	if text == "" {
		text = "none"
	}
	if len(r.prefilters) > 0 {
		text += "; the amplifier's: " + strings.Join(r.prefilters, " | ")
	}
	return text
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
// became of them, and so are amplitudes that no electrode on a scalp gives.
func (r *Result) Averages(p *Pipeline, name string) ([]*Average, error) {
	var out []*Average
	for i, c := range p.Conditions {
		if counts := r.Counts[i]; counts.Kept == 0 {
			return nil, fmt.Errorf("condition %s kept none of its %s (%s): change the epoch, the rejection or the events",
				c.Name, number(counts.Lost(), "epoch"), counts.Reasons())
		}
		a := r.average(p, i, name)
		if err := a.checkRecorded(); err != nil {
			return nil, fmt.Errorf("condition %s: %w", c.Name, err)
		}
		out = append(out, a)
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
			Labels: p.Conditions[condition].labels(), Shares: r.shares(p, condition), Notes: r.notes(),
			Reference: r.Reference, Baseline: "none", Rate: r.Window.Rate,
			Repaired: asTexts(p.Repair), Synthetic: r.synthetic,
		},
		Sites: slices.Clone(r.Montage.Sites), Times: r.Window.Times(), Mean: mean[:sites],
	}
	if p.Baseline != nil {
		a.Info.Baseline = p.Baseline.String()
	}
	a.Info.Filters = r.filters()
	a.Pairs.Names, _, _ = mirrors(a.Sites)
	a.Pairs.Mean = mean[sites:]
	if sem != nil {
		a.SEM, a.Pairs.SEM = sem[:sites], sem[sites:]
	}
	return a
}
