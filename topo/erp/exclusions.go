package erp

import (
	"fmt"
	"iter"
	"slices"
	"strings"

	"calotte/layout"
	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/reject"
)

// excludes returns the reason for which a person excludes the trial, and notes
// in its onset the sites to be repaired instead, if they may be.
func excludes(e reject.Exclusions, t *Trial, o *onset, pl *plan, repair bool) string {
	for _, i := range e.Of(t.Source, t.Onset, pl.window.Rate) {
		x := e.List[i]
		switch {
		case x.Site != "" && !slices.Contains(pl.montage.Names, x.Site): // set aside as it is
		case x.Site != "" && repair:
			o.bad = list.AppendNew(o.bad, x.Site)
		default:
			return x.Words()
		}
	}
	return ""
}

// unmatched refuses exclusions that mean no event of their recording, whatever
// its condition, or no electrode, which a person would believe to be excluded.
// Those of other recordings are left alone: decisions on a whole study may be
// in one file.
func (r Reject) unmatched(plans []*plan) error {
	all := reject.NewExclusions(r.Exclude)
	matched, known := make([]bool, len(r.Exclude)), map[string]bool{}
	for _, pl := range plans {
		if pl.set == nil {
			known[pl.Name] = true
		}
		for source, onset := range pl.marked() {
			known[source] = true
			for _, i := range all.Of(source, onset, pl.window.Rate) {
				matched[i] = matched[i] || pl.knows(r.Exclude[i].Site)
			}
		}
	}
	var missing []string
	for i, x := range r.Exclude {
		if known[x.Source] && !matched[i] {
			missing = append(missing, x.String())
		}
	}
	if len(missing) > 0 {
		const most = 3
		text := strings.Join(missing[:min(most, len(missing))], "; ")
		if more := len(missing) - most; more > 0 {
			text += fmt.Sprintf(" and %d more", more)
		}
		return fmt.Errorf("excluded, but the recording has no such event or electrode: %s", text)
	}
	return nil
}

// marked are the events of a recording, or those of the epochs that were cut
// from some, with the recording's name.
func (pl *plan) marked() iter.Seq2[string, float64] {
	return func(yield func(string, float64) bool) {
		if pl.set != nil {
			for _, row := range pl.set.Rows {
				if !yield(row.Source, row.Onset) {
					return
				}
			}
			return
		}
		for _, e := range pl.Events {
			if !yield(pl.Name, e.Onset) {
				return
			}
		}
	}
}

// knows reports whether an electrode is averaged or set aside; the empty name
// stands for all.
func (pl *plan) knows(site layout.Name) bool {
	return site == "" || slices.Contains(pl.montage.Names, site) || pl.montage.SetsAside(site)
}
