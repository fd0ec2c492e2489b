package bids

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"

	"calotte/layout/rowtable"
	"calotte/topo/recording"
)

// Events is a table of events.
type Events struct {
	// Events in the order of their onsets, which count in s from the first
	// sample of the recording. Each has all columns of the table as they
	// are written, onset and duration included; Text is the value of the
	// column Label.
	Events []recording.Event
	Names  []string // of the columns
	Label  string   // column of the labels; empty where the table has none
	Notes  []string
}

// The columns that can hold the labels of events, the first one that is there.
// BIDS gives trial_type for what was meant and value for the code that was
// sent.
var labelColumns = []string{"trial_type", "value"}

// farthest is the largest time in s, of 73 years, that package recording
// handles.
const farthest = 2.3e9

// ReadEvents reads a *_events.tsv file, or another table with a column onset,
// in s from the first sample. Label names the column that becomes the events'
// text; where it is empty, that is trial_type, and value where there is none or
// it is n/a. An event without any has the text n/a.
//
// Rows whose onset is n/a are passed over, and durations that are no number of
// zero or more are taken for n/a, both with a note. Any other onset that is no
// number is an error, of type *rowtable.Error like all faults of the table.
func ReadEvents(r io.Reader, label string) (*Events, error) {
	t, err := readTable(r)
	if err != nil {
		return nil, err
	}
	onset, duration := t.column("onset"), t.column("duration")
	if onset < 0 {
		return nil, &rowtable.Error{Line: 1, Got: `no column "onset"`,
			Want: "expected one of times in s from the first sample"}
	}
	labels, err := t.labels(label)
	if err != nil {
		return nil, err
	}
	e := &Events{Names: t.names, Events: make([]recording.Event, 0, len(t.rows))}
	if len(labels) > 0 {
		e.Label = t.names[labels[0]]
	}
	without, odd := 0, 0
	for _, row := range t.rows {
		if row.cells[onset] == rowtable.Missing {
			without++
			continue
		}
		at, ok := rowtable.Decimal(row.cells[onset])
		if !ok || math.Abs(at) > farthest {
			return nil, &rowtable.Error{Line: row.line, Column: t.names[onset],
				Got:  fmt.Sprintf("%q is no time", short(row.cells[onset])),
				Want: "expected s from the first sample, decimals after a point, or n/a"}
		}
		lasts, ok := rowtable.Decimal(row.cell(duration))
		if !ok || lasts < 0 {
			lasts = math.NaN()
			if row.cell(duration) != rowtable.Missing {
				odd++
			}
		}
		e.Events = append(e.Events,
			recording.Event{Onset: at, Duration: lasts, Text: row.first(labels),
				Columns: recording.NewColumns(t.names, row.cells)})
	}
	slices.SortStableFunc(e.Events, func(a, b recording.Event) int { return cmp.Compare(a.Onset, b.Onset) })
	if without > 0 {
		e.Notes = append(e.Notes,
			fmt.Sprintf("%d of %d events have no onset: passed over", without, len(t.rows)))
	}
	if odd > 0 {
		e.Notes = append(e.Notes,
			fmt.Sprintf("%d of %d events have a duration that is no number of zero or more: taken for n/a",
				odd,
				len(t.rows)))
	}
	return e, nil
}

// labels returns the columns that hold labels, in the order in which they
// count.
func (t *table) labels(wanted string) ([]int, error) {
	if wanted != "" {
		i := t.column(wanted)
		if i < 0 {
			return nil, &rowtable.Error{Line: 1, Got: fmt.Sprintf("no column %q for the labels", wanted),
				Want: fmt.Sprintf("there are %q", t.names)}
		}
		return []int{i}, nil
	}
	var found []int
	for _, name := range labelColumns {
		if i := t.column(name); i >= 0 {
			found = append(found, i)
		}
	}
	return found, nil
}

// first returns the first of some cells that holds a value.
func (r row) first(columns []int) string {
	for _, c := range columns {
		if r.cells[c] != rowtable.Missing {
			return r.cells[c]
		}
	}
	return rowtable.Missing
}

// From returns the events with onsets from another zero, of which the first
// sample lies at start, in s: that of a recording's first segment.
func (e *Events) From(start float64) []recording.Event {
	moved := slices.Clone(e.Events)
	for i := range moved {
		moved[i].Onset += start
	}
	return moved
}
