package montage

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"calotte/layout"
	"calotte/topo/erp/average"
	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/internal/words"
)

// A Reference says against what potentials are given. The zero value leaves
// them as recorded.
type Reference struct {
	average bool
	sites   []layout.Name
}

// AverageReference is the mean of all scalp sites of the montage.
var AverageReference = Reference{average: true}

// Set reads "recorded", "average", or names joined by commas, whose mean
// becomes the reference.
func (r *Reference) Set(text string) error {
	switch strings.ToLower(strings.TrimSpace(text)) {
	case "recorded":
		*r = Reference{}
		return nil
	case "average":
		*r = AverageReference
		return nil
	}
	var sites []layout.Name
	for label := range strings.SplitSeq(text, ",") {
		name, err := layout.Parse(label)
		if err != nil {
			return fmt.Errorf("reference %q: %w; expected average, recorded or site names", text, err)
		}
		if slices.Contains(sites, name) {
			return fmt.Errorf("reference %q names %s twice", text, name)
		}
		sites = append(sites, name)
	}
	*r = Reference{sites: sites}
	return nil
}

func (r Reference) String() string {
	switch {
	case r.average:
		return "average"
	case len(r.sites) > 0:
		return list.Join(r.sites)
	}
	return "recorded"
}

// Type is the kind of value that a flag's help shows.
func (r Reference) Type() string { return "reference" }

// Rows returns the signals whose mean is the reference, none where
// potentials stay as recorded.
func (r Reference) Rows(m *Montage) ([]int, error) {
	if !r.average {
		return m.Find(r.sites)
	}
	if len(m.Sites) < 2 {
		return nil, errors.New("the average of one site is zero: give another reference")
	}
	return list.Indexes(len(m.Sites)), nil
}

// Describe says the reference as a legend does, with what is known of the
// recording's own.
func (r Reference) Describe(scalp int, m *Montage) string {
	recorded := m.Reference
	switch {
	case r.average:
		return "average of " + words.Number(scalp, "site")
	case len(r.sites) > 1:
		return "mean of " + list.Join(r.sites)
	case len(r.sites) == 1:
		return string(r.sites[0])
	case m.Derived:
		return average.OrNotKnown(recorded) + ", by way of the recorded derivations"
	case recorded != "":
		return recorded + ", as recorded"
	}
	return average.AsRecorded
}
