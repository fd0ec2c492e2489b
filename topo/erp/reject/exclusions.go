package reject

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"

	"calotte/layout"
	"calotte/layout/rowtable"
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

// ReadExclusions reads a person's decisions, a table with a row each. Columns
// are file (the recording's name without folders), onset (of the event, in s,
// as the index of the epochs has it) and, if wanted, electrode (n/a: all of
// them) and reason. Faults are of type *rowtable.Error.
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
				return nil, row.Fault("electrode", strconv.Quote(rowtable.Clip(electrode)),
					"a site such as P7, or n/a")
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

// Words is the reason as it stands in the counts.
func (x Exclusion) Words() string {
	if x.Reason == "" {
		return "excluded"
	}
	return "excluded: " + x.Reason
}

// Means reports whether the exclusion means an event, to half a sample.
func (x Exclusion) Means(source string, onset, rate float64) bool {
	return x.Source == source && math.Abs(x.Onset-onset) <= 0.5/rate
}

// Exclusions find those of an event without a look at all of them.
type Exclusions struct {
	List    []Exclusion
	ordered map[string][]int // of the list, by recording, in the order of their onsets
}

// NewExclusions prepares to find those of a list.
func NewExclusions(list []Exclusion) Exclusions {
	e := Exclusions{list, map[string][]int{}}
	for i, x := range list {
		e.ordered[x.Source] = append(e.ordered[x.Source], i)
	}
	for _, of := range e.ordered {
		slices.SortStableFunc(of, func(i, j int) int { return cmp.Compare(list[i].Onset, list[j].Onset) })
	}
	return e
}

// Of are the exclusions that mean an event, by their places in the list.
func (e Exclusions) Of(source string, onset, rate float64) []int {
	near := e.ordered[source]
	// The whole of a sample, since Means decides, and not how this is
	// rounded.
	first, _ := slices.BinarySearchFunc(near, onset-1/rate,
		func(i int, at float64) int { return cmp.Compare(e.List[i].Onset, at) })
	var found []int
	for _, i := range near[first:] {
		if e.List[i].Onset > onset+1/rate {
			break
		}
		if e.List[i].Means(source, onset, rate) {
			found = append(found, i)
		}
	}
	slices.Sort(found)
	return found
}
