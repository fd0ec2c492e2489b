package page

import (
	"errors"
	"fmt"
	"math"
	"net/url"
	"strings"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/scalp"
	"calotte/topo"
	"calotte/topo/provenance"
)

// A Study is what a page shows. All conditions have the same sites and samples.
type Study struct {
	Title string
	// Sites are the electrodes, in the order of the rows of Values; Spline
	// goes through them.
	Sites  []layout.Site
	Spline *topo.Spline
	Head   head.Ellipsoid
	// Times are those of the samples in s, evenly spaced.
	Times      []float64
	Conditions []Condition
	// Overhang is how far, in mm, maps may go outside of the electrodes;
	// zero: topo.Overhang. Extrapolate has the whole head drawn.
	Overhang    float64
	Extrapolate bool

	Windows []Window
	// Chosen are electrodes that are marked at some latencies; Choice says
	// why.
	Chosen []Chosen
	Choice string
	// Measures is a table of components, as it was made.
	Measures Table
	// Links are states of the page to go back to.
	Links []Link

	Reference string // empty: not known
	Digitised bool   // positions were measured on the wearer
	Synthetic bool
	Remarks   []string // sentences below the figure
	Methods   string   // paragraphs for a paper

	Made provenance.Record
	// Stamp, where it is not empty, says that a server stands behind the
	// page, which tells it of new data by another stamp.
	Stamp string
}

// A Condition is one average or a difference of two.
type Condition struct {
	Title, Note string
	// Name is whose average it is, and Label its condition, as tables of
	// components have them.
	Name, Label string
	// Of and Minus are what a difference is of, empty for other averages.
	Of, Minus string
	// Values are site × sample in µV; Errors, where they are known,
	// likewise.
	Values, Errors [][]float64
	// PairErrors are the standard errors of right minus left, pair × sample
	// in the order of layout.Pairs; nil: not known.
	PairErrors [][]float64
	// Half is half the width of a 95 % interval in standard errors, zero
	// where it is not known; Over says what they are over, "12 people".
	Half float64
	Over string
	// Marks say what is known at each site.
	Marks []scalp.MarkKind
}

// A Window is a stretch of time with a name.
type Window struct {
	Name string  `json:"name"`
	From float64 `json:"from"` // s
	To   float64 `json:"to"`
}

// A Chosen electrode is marked from a time to another, both in s.
type Chosen struct {
	Site     int
	From, To float64
}

// A Table is texts under headings.
type Table struct {
	Columns []string   `json:"columns"`
	Rows    [][]string `json:"rows"`
}

// A Link names a state of the page: "at=170ms&pair=P7,P8".
type Link struct {
	Name  string `json:"name"`
	State string `json:"state"`
}

// validate finds what would make the page wrong.
func (s *Study) validate() error {
	if len(s.Conditions) == 0 || len(s.Times) < 2 || s.Spline == nil || len(s.Sites) == 0 {
		return errors.New("a page needs a spline, sites, a condition and two samples")
	}
	for _, c := range s.Conditions {
		for _, t := range []struct {
			name string
			rows [][]float64
			want int
		}{{"values", c.Values, len(s.Sites)}, {"standard errors", c.Errors, len(s.Sites)},
			{"errors of pairs", c.PairErrors, len(s.pairs())}} {
			if t.rows == nil && t.name != "values" {
				continue
			}
			if len(t.rows) != t.want {
				return fmt.Errorf("%s: %d rows of %s, expected %d", c.Title, len(t.rows), t.name,
					t.want)
			}
			for _, row := range t.rows {
				if len(row) != len(s.Times) {
					return fmt.Errorf("%s: %d %s in a row, expected %d", c.Title, len(row), t.name,
						len(s.Times))
				}
				for i, v := range row {
					if math.IsNaN(v) || math.Abs(v) > mostMicrovolts {
						return fmt.Errorf("%s: one of the %s at %.6g s is %g: expected at "+
							"most %g µV",
							c.Title,
							t.name,
							s.Times[i], v, float64(mostMicrovolts))
					}
				}
			}
		}
		if len(c.Marks) != len(s.Sites) {
			return fmt.Errorf("%s: %d marks for %d sites", c.Title, len(c.Marks), len(s.Sites))
		}
	}
	return nil
}

// mostMicrovolts is what a page can hold to a thousandth of a microvolt.
const mostMicrovolts = 1e6

// CheckLink finds what a state names that the study does not have.
func (s *Study) CheckLink(state string) error {
	for part := range strings.SplitSeq(strings.TrimPrefix(state, "#"), "&") {
		key, text, ok := strings.Cut(part, "=")
		// Parted at commas before it is decoded, since names may hold
		// some, unless all commas were encoded, too.
		decoded, err := url.PathUnescape(text)
		if err != nil {
			return fmt.Errorf("%q: %w", part, err)
		}
		values := strings.Split(decoded, ",")
		if strings.Contains(text, ",") {
			values = strings.Split(text, ",")
			for i, v := range values {
				if values[i], err = url.PathUnescape(v); err != nil {
					return fmt.Errorf("%q: %w", part, err)
				}
			}
		}
		if _, known := stateKeys[key]; !ok || !known {
			return fmt.Errorf("%q: expected what the page's address says after #, such as "+
				"at=170ms&pair=P7,P8",
				part)
		}
		if err := stateKeys[key](s, values); err != nil {
			return fmt.Errorf("%q: %w", part, err)
		}
	}
	return nil
}
