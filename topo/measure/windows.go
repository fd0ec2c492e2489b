package measure

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"calotte/layout"
	"calotte/layout/rowtable"
	"calotte/topo/unit"
)

// Polarity is the direction in which a component deflects.
type Polarity int

const (
	Either Polarity = iota
	Positive
	Negative
)

var polarities = [...]string{Either: "either", Positive: "positive", Negative: "negative"}

func (p Polarity) String() string { return polarities[p] }

// Set reads either, positive or negative.
func (p *Polarity) Set(text string) error {
	i := slices.Index(polarities[:], text)
	if i < 0 {
		return fmt.Errorf("%q is no polarity: expected positive, negative or either", text)
	}
	*p = Polarity(i)
	return nil
}

func (p Polarity) Type() string { return "polarity" }

// A Window is a stretch of time that was declared to hold something of
// interest, with what is known of it beforehand.
type Window struct {
	Name     string
	Span     unit.Span
	Polarity Polarity
	Sites    []string // as written; empty: not declared
}

// ReadWindows reads declared windows, a table with a row each. Columns are name
// and window (150..190ms) and, if wanted, polarity (positive, negative or
// either) and sites (P7,P8). Names differ. Faults are of type *rowtable.Error.
func ReadWindows(r io.Reader) ([]Window, error) {
	t, err := rowtable.Read(r, "name", "window")
	if err != nil {
		return nil, err
	}
	if len(t.Rows) == 0 {
		return nil, &rowtable.Error{Got: "no window",
			Want: "expected a line for each, such as early, 150..190ms"}
	}
	var out []Window
	given := map[string]bool{}
	for _, row := range t.Rows {
		w, err := readWindow(row)
		if err != nil {
			return nil, err
		}
		if given[w.Name] {
			return nil, row.Fault("name", strconv.Quote(rowtable.Clip(w.Name))+" a second time",
				"each name once")
		}
		given[w.Name] = true
		out = append(out, w)
	}
	return out, nil
}

func readWindow(row rowtable.Row) (Window, error) {
	w := Window{Name: row.Text("name")}
	if w.Name == "" {
		return w, row.Fault("name", "no name", "one for each window, such as early")
	}
	if err := w.Span.Set(row.Text("window")); err != nil {
		return w, row.Fault("window", strconv.Quote(rowtable.Clip(row.Text("window"))),
			"two times such as 150..190ms")
	}
	if text := row.Text("polarity"); text != "" {
		if err := w.Polarity.Set(text); err != nil {
			return w, row.Fault("polarity", strconv.Quote(rowtable.Clip(text)),
				"positive, negative or either")
		}
	}
	if text := row.Text("sites"); text != "" {
		for name := range strings.SplitSeq(text, ",") {
			name = strings.TrimSpace(name)
			if _, err := layout.Parse(name); err != nil {
				return w, row.Fault("sites", strconv.Quote(rowtable.Clip(name)), "sites such as P7,P8")
			}
			w.Sites = append(w.Sites, name)
		}
	}
	return w, nil
}
