package average

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"calotte/topo/provenance"
)

// Kinds of averages.
const (
	Participant  = "participant"   // over the epochs of one person
	GrandAverage = "grand average" // over participants
	Table        = "table"         // read from a table that says nothing of itself
)

// Info is what is known of an average beside its numbers; it is the content of
// the JSON file.
type Info struct {
	Kind      string `json:"kind"`
	Name      string `json:"name"`
	Condition string `json:"condition"`
	Minus     string `json:"minus,omitempty"` // the condition that was subtracted
	// Labels are those of the condition's events; Shares names the other
	// conditions of the run that some of its epochs belong to as well.
	Labels   []string `json:"labels,omitempty"`
	Shares   []string `json:"shares_epochs_with,omitempty"`
	Epochs   *Counts  `json:"epochs,omitempty"`
	Members  []Member `json:"members,omitempty"`
	Weighted bool     `json:"weighted_by_epochs,omitempty"`
	// Centre is what was taken over the epochs of each person, and Across
	// over people, by their names in [epoch.Centre]; empty: the mean.
	Centre    string `json:"centre_of_epochs,omitempty"`
	Across    string `json:"centre_of_people,omitempty"`
	Reference string `json:"reference"` // empty: not known, as the next two
	Baseline  string `json:"baseline"`
	Filters   string `json:"filters"`
	// how time zero was found, where it is not the event as marked
	Timing    string     `json:"timing,omitempty"`
	Unmixed   *Unmixed   `json:"unmixed,omitempty"`   // the components that were taken out
	Blinks    string     `json:"blinks,omitempty"`    // how they were taken out
	Rejection string     `json:"rejection,omitempty"` // by which rules
	Rate      float64    `json:"rate_hz"`
	Repaired  []string   `json:"repaired,omitempty"`        // canonical names
	Repairs   []Repaired `json:"repairs,omitempty"`         // the same with reasons, by recording
	Mended    Mended     `json:"repaired_epochs,omitempty"` // sites in some epochs alone
	// electrodes that were marked bad, as they are labelled
	LeftOut    []string            `json:"left_out,omitempty"`
	Quality    *Measured           `json:"quality,omitempty"`
	Gaze       *Gaze               `json:"gaze,omitempty"`
	Synthetic  bool                `json:"synthetic,omitempty"`
	Notes      []string            `json:"notes,omitempty"`
	Files      []provenance.Source `json:"files,omitempty"`
	Provenance provenance.Record   `json:"provenance"`
}

// Title is the condition in words: "known minus novel".
func (i Info) Title() string { return i.joined(" minus ") }

// Slug is the condition as it stands in file names: "known-novel".
func (i Info) Slug() string { return i.joined("-") }

func (i Info) joined(minus string) string {
	if i.Minus == "" {
		return i.Condition
	}
	return i.Condition + minus + i.Minus
}

// Counts says what became of the epochs of a condition.
type Counts struct {
	Kept     int            `json:"kept"`
	Rejected map[string]int `json:"rejected,omitempty"` // by reason
}

// Reject counts an epoch that was rejected.
func (c *Counts) Reject(reason string) {
	c.Add(Counts{Rejected: map[string]int{reason: 1}})
}

// Add adds the counts of other epochs.
func (c *Counts) Add(o Counts) {
	c.Kept += o.Kept
	if c.Rejected == nil {
		c.Rejected = map[string]int{}
	}
	for reason, n := range o.Rejected {
		c.Rejected[reason] += n
	}
}

// Lost is the number of rejected epochs, whatever the reason.
func (c Counts) Lost() int {
	n := 0
	for _, k := range c.Rejected {
		n += k
	}
	return n
}

// Reasons lists why epochs were rejected: "3 peak to peak, 1 outside the data".
func (c Counts) Reasons() string {
	if len(c.Rejected) == 0 {
		return "there are none"
	}
	var texts []string
	for _, reason := range slices.Sorted(maps.Keys(c.Rejected)) {
		texts = append(texts, fmt.Sprintf("%d %s", c.Rejected[reason], reason))
	}
	return strings.Join(texts, ", ")
}

// A Member is one average that a combination was made of.
type Member struct {
	Name string `json:"name"`
	// Condition is there where the members are of different ones, in a
	// difference within one person.
	Condition string              `json:"condition,omitempty"`
	Epochs    int                 `json:"epochs,omitempty"`       // zero: not known
	Minus     int                 `json:"minus_epochs,omitempty"` // of the condition that was subtracted
	Repaired  []string            `json:"repaired,omitempty"`
	Files     []provenance.Source `json:"files,omitempty"`
}
