package main

import (
	"fmt"
	"path/filepath"
	"slices"

	"calotte/cmd/internal/intake"
	"calotte/topo/erp"
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
)

// notesOf say what is remarkable about a person's recordings.
func notesOf(p intake.Person) []string {
	var notes []string
	for _, rec := range p.Recordings {
		for _, n := range rec.Notes {
			notes = append(notes, filepath.Base(rec.Path)+": "+n)
		}
	}
	return notes
}

// notesOn says what is remarkable about averages and what they were made of.
func notesOn(averages []*average.Average, r *erp.Result) []string {
	var notes []string
	say := func(format string, args ...any) { notes = append(notes, fmt.Sprintf(format, args...)) }
	for _, s := range r.Montage.Aside {
		say("%s set aside: %s", s.Label, s.Reason)
	}
	for _, caution := range r.Cautions {
		say("%s", caution)
	}
	var conditions []string
	var counts []int
	for i, avg := range averages {
		for _, n := range avg.Info.Notes {
			say("%s", n)
		}
		for _, o := range averages[:i] {
			if slices.Contains(avg.Info.Shares, o.Info.Condition) {
				say("conditions %s and %s share epochs: one cannot be subtracted from the other",
					o.Info.Condition,
					avg.Info.Condition)
			}
		}
		conditions, counts = append(conditions, avg.Info.Condition), append(counts, avg.Info.Epochs.Kept)
	}
	if warning := epoch.UnequalWarning(conditions, counts); warning != "" {
		say("%s (--same-number)", warning)
	}
	return notes
}
