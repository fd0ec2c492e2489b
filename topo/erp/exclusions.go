package erp

import (
	"io"
	"slices"
	"strconv"

	"calotte/layout"
)

// ReadExclusions reads a person's decisions, a table with a row each. Columns are
// file (the recording's name without folders), onset (of the event, in s, as the index
// of the epochs has it) and, if wanted, electrode (n/a: all of them) and reason.
// Faults are of type *TableError.
func ReadExclusions(r io.Reader) ([]Exclusion, error) {
	t, err := readRows(r, "file", "onset")
	if err != nil {
		return nil, err
	}
	var out []Exclusion
	for _, row := range t.rows {
		x := Exclusion{Source: row.text("file"), Reason: row.text("reason")}
		if x.Source == "" {
			return nil, row.fault("file", "no name", "that of a recording")
		}
		if x.Onset, err = row.number("onset", "the onset of an event in s", false); err != nil {
			return nil, err
		}
		if electrode := row.text("electrode"); electrode != "" {
			if x.Site, err = layout.Parse(electrode); err != nil {
				return nil, row.fault("electrode", strconv.Quote(clip(electrode)), "a site such as P7, or n/a")
			}
		}
		same := func(o Exclusion) bool { return o.Source == x.Source && o.Onset == x.Onset && o.Site == x.Site }
		if slices.ContainsFunc(out, same) {
			return nil, row.fault("onset", x.String()+" a second time", "each decision once")
		}
		out = append(out, x)
	}
	return out, nil
}
