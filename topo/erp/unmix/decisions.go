package unmix

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"calotte/layout/rowtable"
)

// A Decision is a person's about one component.
type Decision struct {
	Component int // from 1
	Looks     string
	Remove    bool
}

// Columns of a table of decisions that are read again. The others are the
// numbers behind them.
const (
	componentColumn = "component"
	looksColumn     = "looks_like"
	removeColumn    = "remove"
	weightsColumn   = "weights"
)

// WriteDecisions writes the table that a person edits: a line a component, with
// what it looks like, whether to remove it, and the numbers behind that. The
// mark of the weights stands in every line, so that the table of another
// recording is not taken for this one's.
func WriteDecisions(w io.Writer, f *File) error {
	columns := []string{componentColumn, looksColumn, removeColumn, "variance_percent", "largest_at", "blink_r",
		"sideways_r", "front_share", "above_20hz", "slope", "rhythm", "map_kurtosis", "mains", weightsColumn}
	if _, err := fmt.Fprintln(w, strings.Join(columns, "\t")); err != nil {
		return err
	}
	mark := f.Mark()
	for _, c := range f.Components {
		remove := "no"
		if c.Remove {
			remove = "yes"
		}
		entries := []string{strconv.Itoa(c.Component), c.Looks, remove, digits(c.Variance, 3), c.LargestAt}
		for _, x := range []*float64{c.Blink, c.Sideways, c.Front, c.Fast, c.Slope, c.Rhythm, c.Kurtosis,
			c.Mains} {
			if x == nil {
				entries = append(entries, rowtable.Missing)
				continue
			}
			entries = append(entries, digits(*x, 3))
		}
		if _, err := fmt.Fprintln(w, strings.Join(append(entries, mark), "\t")); err != nil {
			return err
		}
	}
	return nil
}

// digits writes a number with so many significant digits and no exponent.
func digits(x float64, significant int) string {
	if x == 0 {
		return "0"
	}
	places := max(0, significant-1-int(math.Floor(math.Log10(math.Abs(x)))))
	return strconv.FormatFloat(x, 'f', places, 64)
}

// ReadDecisions reads a table that a person may have edited, of the components
// of a file. Components that it does not name stay. Faults are of type
// *rowtable.Error: a component twice or not there, a decision that is neither
// yes nor no, weights of another recording, all components removed.
func ReadDecisions(r io.Reader, f *File) ([]Decision, error) {
	t, err := rowtable.Read(r, componentColumn, removeColumn, weightsColumn)
	if err != nil {
		return nil, err
	}
	var list []Decision
	seen, removed := map[int]bool{}, 0
	for _, row := range t.Rows {
		d := Decision{Looks: row.Text(looksColumn)}
		text := row.Text(componentColumn)
		if d.Component, err = strconv.Atoi(text); err != nil || d.Component < 1 ||
			d.Component > len(f.Components) {
			return nil, row.Fault(componentColumn, strconv.Quote(rowtable.Clip(text)),
				fmt.Sprintf("the number of a component, 1 to %d", len(f.Components)))
		}
		if seen[d.Component] {
			return nil, row.Fault(componentColumn, fmt.Sprintf("%d a second time", d.Component),
				"each component once")
		}
		seen[d.Component] = true
		if mark := row.Text(weightsColumn); mark != f.Mark() {
			return nil, row.Fault(weightsColumn, strconv.Quote(rowtable.Clip(mark)),
				fmt.Sprintf("%s, that of the "+
					"weights beside this table: it is of another recording, or another run of unmix",
					f.Mark()))
		}
		switch answer := strings.ToLower(row.Text(removeColumn)); answer {
		case "yes":
			d.Remove = true
			removed++
		case "no":
		default:
			return nil, row.Fault(removeColumn, strconv.Quote(rowtable.Clip(answer)), "yes or no")
		}
		if len(d.Looks) > mostLooks {
			return nil, row.Fault(looksColumn, strconv.Quote(rowtable.Clip(d.Looks)), "a few words")
		}
		list = append(list, d)
	}
	if removed == len(f.Components) {
		return nil, &rowtable.Error{Column: removeColumn, Got: "yes for all components",
			Want: "one at least that stays: nothing would be left to average"}
	}
	return list, nil
}

// mostLooks bounds what a component is said to look like, in bytes.
const mostLooks = 60
