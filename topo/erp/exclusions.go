package erp

import (
	"cmp"
	"fmt"
	"io"
	"iter"
	"math"
	"slices"
	"strconv"
	"strings"

	"calotte/layout"
	"calotte/topo/erp/internal/list"
	"calotte/topo/rowtable"
)

// An Exclusion is a person's decision against an epoch, or a site in it.
type Exclusion struct {
	Source string      // name of the recording
	Onset  float64     // of the event as it is marked, s from the start of the recording's header
	Site   layout.Name // empty: all
	Reason string
}

func (x Exclusion) String() string {
	text := fmt.Sprintf("%s at %g s", x.Source, x.Onset)
	if x.Site != "" {
		text += ", " + string(x.Site)
	}
	return text
}

// ReadExclusions reads a person's decisions, a table with a row each. Columns are
// file (the recording's name without folders), onset (of the event, in s, as the index
// of the epochs has it) and, if wanted, electrode (n/a: all of them) and reason.
// Faults are of type *rowtable.Error.
func ReadExclusions(r io.Reader) ([]Exclusion, error) {
	t, err := rowtable.Read(r, "file", "onset")
	if err != nil {
		return nil, err
	}
	var out []Exclusion
	decided := map[Exclusion]bool{}
	for _, row := range t.Rows {
		x := Exclusion{Source: row.Text("file"), Reason: row.Text("reason")}
		if x.Source == "" {
			return nil, row.Fault("file", "no name", "that of a recording")
		}
		if x.Onset, err = row.Number("onset", "the onset of an event in s", false); err != nil {
			return nil, err
		}
		if electrode := row.Text("electrode"); electrode != "" {
			if x.Site, err = layout.Parse(electrode); err != nil {
				return nil, row.Fault("electrode", strconv.Quote(rowtable.Clip(electrode)), "a site such as P7, or n/a")
			}
		}
		what := x
		what.Reason = ""
		if decided[what] {
			return nil, row.Fault("onset", x.String()+" a second time", "each decision once")
		}
		decided[what] = true
		out = append(out, x)
	}
	return out, nil
}

func (x Exclusion) reason() string {
	if x.Reason == "" {
		return "excluded"
	}
	return "excluded: " + x.Reason
}

// is reports whether the exclusion means an event, to half a sample.
func (x Exclusion) is(source string, onset, rate float64) bool {
	return x.Source == source && math.Abs(x.Onset-onset) <= 0.5/rate
}

// exclusions find those of an event without a look at all of them.
type exclusions struct {
	list    []Exclusion
	ordered map[string][]int // of the list, by recording, in the order of their onsets
}

func newExclusions(list []Exclusion) exclusions {
	e := exclusions{list, map[string][]int{}}
	for i, x := range list {
		e.ordered[x.Source] = append(e.ordered[x.Source], i)
	}
	for _, of := range e.ordered {
		slices.SortStableFunc(of, func(i, j int) int { return cmp.Compare(list[i].Onset, list[j].Onset) })
	}
	return e
}

// of are the exclusions that mean an event, by their places in the list.
func (e exclusions) of(source string, onset, rate float64) []int {
	near := e.ordered[source]
	// The whole of a sample, since is decides, and not how this is rounded.
	first, _ := slices.BinarySearchFunc(near, onset-1/rate, func(i int, at float64) int { return cmp.Compare(e.list[i].Onset, at) })
	var found []int
	for _, i := range near[first:] {
		if e.list[i].Onset > onset+1/rate {
			break
		}
		if e.list[i].is(source, onset, rate) {
			found = append(found, i)
		}
	}
	slices.Sort(found)
	return found
}

// excludes returns the reason for which a person excludes the trial, and notes in its
// onset the sites to be repaired instead, if they may be.
func (e exclusions) excludes(t *Trial, o *onset, pl *plan, repair bool) string {
	for _, i := range e.of(t.Source, t.Onset, pl.window.Rate) {
		x := e.list[i]
		switch {
		case x.Site != "" && !slices.Contains(pl.montage.Names, x.Site): // set aside as it is
		case x.Site != "" && repair:
			o.bad = list.AppendNew(o.bad, x.Site)
		default:
			return x.reason()
		}
	}
	return ""
}

// unmatched refuses exclusions that mean no event of their recording, whatever its
// condition, or no electrode, which a person would believe to be excluded. Those of
// other recordings are left alone: decisions on a whole study may be in one file.
func (r Reject) unmatched(plans []*plan) error {
	all := newExclusions(r.Exclude)
	matched, known := make([]bool, len(r.Exclude)), map[string]bool{}
	for _, pl := range plans {
		if pl.set == nil {
			known[pl.Name] = true
		}
		for source, onset := range pl.marked() {
			known[source] = true
			for _, i := range all.of(source, onset, pl.window.Rate) {
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

// marked are the events of a recording, or those of the epochs that were cut from some,
// with the recording's name.
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

// knows reports whether an electrode is averaged or set aside; the empty name stands for all.
func (pl *plan) knows(site layout.Name) bool {
	return site == "" || slices.Contains(pl.montage.Names, site) || pl.montage.SetsAside(site)
}
