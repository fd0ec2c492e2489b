package methods

import (
	"slices"

	"calotte/topo/erp/average"
	"calotte/topo/provenance"
)

// An Account is what is known of the way from recordings to figures, for the
// methods of a paper.
type Account struct {
	People  []average.Info      // averages of one person, a condition each
	Groups  []average.Info      // grand averages and differences
	Figures []provenance.Record // maps, waveforms and tables of values
	Sites   []string            // of the averages
}

// A ChecklistItem is something that a reader of a paper needs to know.
type ChecklistItem struct {
	Topic   string
	Covered bool // in the paragraphs; else a blank or nothing stands for it
}

// Paragraphs are the methods in words. What only the author knows is a blank in
// square brackets.
func (a Account) Paragraphs() []string {
	out := []string{a.recorded(), a.processed()}
	for _, p := range []string{a.combined(), a.drawn(), a.measured(), a.tested()} {
		if p != "" {
			out = append(out, p)
		}
	}
	return out
}

// Checklist says which of the items that guidelines for publication ask for are
// covered (T. W. Picton et al., "Guidelines for using human event-related
// potentials to study cognition: recording standards and publication criteria",
// Psychophysiology 37:127, 2000; A. Keil et al., "Committee report: publication
// guidelines and recommendations for studies using electroencephalography and
// magnetoencephalography", Psychophysiology 51:1, 2014). The items are a
// reading of both from memory.
func (a Account) Checklist() []ChecklistItem {
	averaged, known := len(a.People) > 0, func(field func(average.Info) string) bool {
		return len(a.People) > 0 && !slices.ContainsFunc(a.People,
			func(i average.Info) bool { return field(i) == "" })
	}
	return []ChecklistItem{
		{"participants: number", a.persons() > 0},
		{"participants: age, sex, handedness, vision, medication, consent", false},
		{"stimuli, task, timing between stimuli", false},
		{"electrodes: number, placement, names", len(a.Sites) > 0},
		{"electrodes: material, impedances, ground", false},
		{"amplifier: make, gain, input impedance, online filters", false},
		{"sampling rate", known(func(i average.Info) string { return positive(i.Rate) })},
		{"recorded reference and offline reference", known(func(i average.Info) string { return i.Reference })},
		{"filters: kind, cut-offs, transition, phase", known(func(i average.Info) string { return i.Filters })},
		{"eye movements: how they were handled", known(eyesOf)},
		{"artifacts: criteria of rejection", known(func(i average.Info) string { return i.Rejection })},
		{"interpolated electrodes", averaged},
		{"epochs and baseline", known(func(i average.Info) string { return i.Baseline })},
		{"numbers of epochs averaged, by condition", averaged},
		{"measurement error of the scores (SME)", known(func(i average.Info) string { return withErrors(i) })},
		{"maps: interpolation, its order and smoothing", len(a.Figures) > 0},
		{"windows and sites: chosen before looking, or how", a.declared()},
		{"statistics: tests, correction for many of them", a.tested() != ""},
		{"software and its version", averaged || len(a.Groups) > 0 || len(a.Figures) > 0},
	}
}

func positive(x float64) string {
	if x > 0 {
		return "yes"
	}
	return ""
}

// appendNew appends the items that are not there yet.
func appendNew[T comparable](list []T, items ...T) []T {
	for _, item := range items {
		if !slices.Contains(list, item) {
			list = append(list, item)
		}
	}
	return list
}
