package bids

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"calotte/layout/rowtable"
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
// names must differ. Faults of the table are of type *rowtable.Error.
func ReadChannels(r io.Reader) ([]Channel, error) {
	t, err := readTable(r)
	if err != nil {
		return nil, err
	}
	name := t.column("name")
	if name < 0 {
		return nil, &rowtable.Error{Line: 1, Got: `no column "name"`,
			Want: "expected one, as in every table of channels"}
	}
	columns := struct{ kind, unit, rate, reference, status, why int }{
		t.column("type"), t.column("units"), t.column("sampling_frequency"), t.column("reference"),
		t.column("status"),
		t.column("status_description")}
	var channels []Channel
	given := map[string]bool{}
	for _, row := range t.rows {
		c := Channel{Name: row.value(name), Type: strings.ToUpper(row.value(columns.kind)),
			Unit:      row.value(columns.unit),
			Reference: row.value(columns.reference), Why: row.value(columns.why)}
		if c.Name == "" {
			return nil, &rowtable.Error{Line: row.line, Column: t.names[name], Got: "no name",
				Want: "give one"}
		}
		if given[c.Name] {
			return nil, &rowtable.Error{Line: row.line, Column: t.names[name],
				Got: fmt.Sprintf("channel %q is given twice", c.Name), Want: "keep one of the two rows"}
		}
		given[c.Name] = true
		if text := row.value(columns.rate); text != "" {
			hertz, ok := rowtable.Decimal(text)
			if !ok || hertz <= 0 {
				return nil, &rowtable.Error{Line: row.line, Column: t.names[columns.rate],
					Got: strconv.Quote(short(text)), Want: "expected a rate in Hz or n/a"}
			}
			c.Rate = hertz
		}
		switch status := row.value(columns.status); status {
		case "", "good":
		case "bad":
			c.Bad = true
		default:
			return nil, &rowtable.Error{Line: row.line, Column: t.names[columns.status],
				Got: strconv.Quote(short(status)), Want: "expected good, bad or n/a"}
		}
		channels = append(channels, c)
	}
	if len(channels) == 0 {
		return nil, &rowtable.Error{Got: "no channel is described", Want: "expected a row for each"}
	}
	return channels, nil
}

// value returns a cell, empty where it is n/a or there is no such column.
func (r row) value(column int) string {
	if cell := r.cell(column); cell != rowtable.Missing {
		return cell
	}
	return ""
}
