package erp

import (
	"io"
	"slices"
	"strconv"

	"calotte/layout"
	"calotte/topo/rowtable"
)

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
		same := func(o Exclusion) bool { return o.Source == x.Source && o.Onset == x.Onset && o.Site == x.Site }
		if slices.ContainsFunc(out, same) {
			return nil, row.Fault("onset", x.String()+" a second time", "each decision once")
		}
		out = append(out, x)
	}
	return out, nil
}
