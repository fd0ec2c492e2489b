package epoch

import (
	"bufio"
	"io"
	"math"
	"strconv"
	"strings"

	"calotte/layout/rowtable"
	"calotte/topo/recording"
)

// EventPrefix begins the names of the columns that are the event's own.
const EventPrefix = "event_"

// WriteIndex writes the index of a condition's epochs, a table with a row an
// event: source, onset (s), response_time (s), kept (yes or no), reason,
// electrodes (those at fault), and event_NAME for each column NAME of the
// events; n/a where there is none. The epochs kept lie in the array beside it
// in this order.
func WriteIndex(w io.Writer, rows []Row) error {
	b := bufio.NewWriter(w)
	names := EventNames(rows)
	b.WriteString("source\tonset\tresponse_time\tkept\treason\telectrodes")
	for _, n := range names {
		b.WriteString("\t" + EventPrefix + n)
	}
	b.WriteString("\n")
	for _, r := range rows {
		kept := "yes"
		if !r.Kept {
			kept = "no"
		}
		cells := []string{r.Source, decimal(r.Onset), decimal(r.Response), kept, r.Reason,
			strings.Join(r.Sites, ",")}
		values := r.EventValues()
		for _, n := range names {
			cells = append(cells, values[n])
		}
		for i, c := range cells {
			if cells[i] = plainCell(c); cells[i] == "" {
				cells[i] = rowtable.Missing
			}
		}
		b.WriteString(strings.Join(cells, "\t") + "\n")
	}
	return b.Flush()
}

// EventNames are the names of the columns of the rows' events, each once, in
// the order in which they come, as they fit into a table's header.
func EventNames(rows []Row) []string {
	var names []string
	seen := map[string]bool{}
	for _, r := range rows {
		for name := range r.Event.All() {
			if name = plainCell(name); !seen[name] {
				seen[name], names = true, append(names, name)
			}
		}
	}
	return names
}

// EventValues are what the row's event has in the columns of these names.
func (r Row) EventValues() map[string]string {
	values := map[string]string{}
	for name, value := range r.Event.All() {
		values[plainCell(name)] = value
	}
	return values
}

// decimal writes the shortest decimals that read back to the same number,
// nothing for NaN.
func decimal(x float64) string {
	if math.IsNaN(x) {
		return ""
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// plainCell keeps a text in its cell.
func plainCell(text string) string {
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if r == '\t' || r == '\n' || r == '\r' {
			return ' '
		}
		return r
	}, text))
}

// ReadIndex reads what [WriteIndex] writes. Faults are of type *rowtable.Error.
func ReadIndex(r io.Reader, condition string) ([]Row, error) {
	t, err := rowtable.Read(r, "source", "onset", "kept")
	if err != nil {
		return nil, err
	}
	var events []string // names of the events' own columns
	for _, c := range t.Columns() {
		if name, own := strings.CutPrefix(c, EventPrefix); own {
			events = append(events, name)
		}
	}
	var rows []Row
	for _, row := range t.Rows {
		e := Row{Source: row.Text("source"), Condition: condition, Kept: row.Text("kept") == "yes",
			Reason: row.Text("reason")}
		if k := row.Text("kept"); k != "yes" && k != "no" {
			return nil, row.Fault("kept", strconv.Quote(rowtable.Clip(k)), "yes or no")
		}
		if e.Onset, err = row.Number("onset", "a time in s", false); err != nil {
			return nil, err
		}
		if e.Response, err = row.Number("response_time", "a time in s, or n/a", true); err != nil {
			return nil, err
		}
		if sites := row.Text("electrodes"); sites != "" {
			e.Sites = strings.Split(sites, ",")
		}
		var values []string
		for _, name := range events {
			values = append(values, row.Text(EventPrefix+name))
		}
		e.Event = recording.NewColumns(events, values)
		rows = append(rows, e)
	}
	return rows, nil
}
