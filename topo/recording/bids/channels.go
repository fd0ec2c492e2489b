package bids

import (
	"fmt"
	"io"
	"strings"
)

// A Channel is a row of *_channels.tsv. Fields that are n/a are empty or zero.
type Channel struct {
	Name      string
	Type      string  // in capitals: EEG, EOG, TRIG, …
	Unit      string  // as written
	Rate      float64 // Hz
	Reference string
	Bad       bool
	Why       string // what status_description says
}

// ReadChannels reads a *_channels.tsv file. Only the column name must be there;
// names must differ. Faults of the table are of type *TableError.
func ReadChannels(r io.Reader) ([]Channel, error) {
	t, err := readTable(r)
	if err != nil {
		return nil, err
	}
	name := t.column("name")
	if name < 0 {
		return nil, &TableError{Line: 1, Problem: `no column "name": expected one, as in every table of channels`}
	}
	columns := struct{ kind, unit, rate, reference, status, why int }{
		t.column("type"), t.column("units"), t.column("sampling_frequency"), t.column("reference"), t.column("status"),
		t.column("status_description")}
	var channels []Channel
	given := map[string]bool{}
	for _, row := range t.rows {
		c := Channel{Name: row.value(name), Type: strings.ToUpper(row.value(columns.kind)),
			Unit:      row.value(columns.unit),
			Reference: row.value(columns.reference), Why: row.value(columns.why)}
		if c.Name == "" {
			return nil, &TableError{row.line, t.names[name], "no name: give one"}
		}
		if given[c.Name] {
			return nil, &TableError{row.line, t.names[name],
				fmt.Sprintf("channel %q is given twice: keep one of the two rows", c.Name)}
		}
		given[c.Name] = true
		if text := row.value(columns.rate); text != "" {
			hertz, ok := number(text)
			if !ok || hertz <= 0 {
				return nil, &TableError{row.line, t.names[columns.rate],
					fmt.Sprintf("%q: expected a rate in Hz or n/a", short(text))}
			}
			c.Rate = hertz
		}
		switch status := row.value(columns.status); status {
		case "", "good":
		case "bad":
			c.Bad = true
		default:
			return nil, &TableError{row.line, t.names[columns.status],
				fmt.Sprintf("%q: expected good, bad or n/a", short(status))}
		}
		channels = append(channels, c)
	}
	if len(channels) == 0 {
		return nil, &TableError{Problem: "no channel is described: expected a row for each"}
	}
	return channels, nil
}

// value returns a cell, empty where it is n/a or there is no such column.
func (r row) value(column int) string {
	if cell := r.cell(column); cell != missing {
		return cell
	}
	return ""
}
