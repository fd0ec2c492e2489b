package bids

import (
	"slices"
	"strings"

	"calotte/layout"
	"calotte/topo/recording"
)

// A matching says which row of a table of channels describes which signal.
type matching struct {
	rowOf   []int     // of each signal; −1 where there is none
	byPlace []bool    // the names differ: signal and row only stand at the same place
	rows    []Channel // without those of annotations
	left    tally     // rows that describe no signal
}

// match finds the row of each signal: by the same name, letter case and blanks
// aside; then by the same site, where one signal and one row have it ("EEG
// Fpz-Cz" is Fpz); then by the same place, if both are still alone and there
// are as many rows as signals. Tables may list the signals that hold
// annotations, which are none here.
func match(signals []recording.Signal, rows []Channel) matching {
	m := matching{rowOf: make([]int, len(signals)), byPlace: make([]bool, len(signals))}
	rows = slices.DeleteFunc(slices.Clone(rows), func(c Channel) bool { return site(c.Name) == annotations })
	taken := make([]bool, len(rows))
	for i := range m.rowOf {
		m.rowOf[i] = -1
	}
	for _, spelling := range []func(string) string{fold, site} {
		open := map[string][]int{}
		for k, c := range rows {
			if s := spelling(c.Name); s != "" && !taken[k] {
				open[s] = append(open[s], k)
			}
		}
		counts := map[string]int{}
		for i, s := range signals {
			if m.rowOf[i] < 0 {
				counts[spelling(s.Label)]++
			}
		}
		for i, s := range signals {
			key := spelling(s.Label)
			if m.rowOf[i] < 0 && len(open[key]) == 1 && counts[key] == 1 {
				m.rowOf[i] = open[key][0]
				taken[open[key][0]] = true
			}
		}
	}
	for i := range signals {
		if len(rows) == len(signals) && m.rowOf[i] < 0 && !taken[i] {
			m.rowOf[i], m.byPlace[i], taken[i] = i, true, true
		}
	}
	for k, c := range rows {
		if !taken[k] {
			m.left.add("%q", c.Name)
		}
	}
	m.rows = rows
	return m
}

func fold(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }

const annotations = "Annotations"

// site returns the site that a name or label is of, its type where that is not
// EEG, and nothing where neither is known.
func site(name string) string {
	l, err := layout.ParseLabel(name)
	switch {
	case err != nil:
		return ""
	case l.Kind == layout.SignalLabel:
		if l.Type == annotations {
			return annotations
		}
		return ""
	}
	return string(l.Site)
}
