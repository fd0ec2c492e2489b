package average

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"calotte/layout"
	"calotte/layout/rowtable"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/internal/words"
)

// Waveforms are amplitudes over time, as a table holds them.
type Waveforms struct {
	Sites  []string
	Times  []float64   // s
	Values [][]float64 // site × sample, µV
}

// Clock places the rows of a table without a time column: its sampling rate in
// Hz, and the time of the first row in s. A zero Clock means the table must
// have a time column.
type Clock struct{ Rate, First float64 }

// longestLine bounds the memory that a file which is no table can take. A line
// of 10,000 numbers in full precision is a quarter of it.
const longestLine = 1 << 20

// ReadTable reads amplitudes over time: a header line, then a line a sample.
// Columns are separated by tabs, or by commas where the header holds no tab;
// one pair of quotes around an entry is ignored, lines may end in CR LF, and a
// byte-order mark may come first. One column is the time, "time" in s or
// "time_ms"; without one the clock gives it. All others are sites in µV, in any
// number, with names that differ.
//
// Times must be evenly spaced and increase; all values must be finite. Times
// that can only be meant in another unit than their column's are an error; for
// amplitudes see [CheckMicrovolts]. Faults of the table are of type
// *rowtable.Error.
func ReadTable(r io.Reader, clock Clock) (*Waveforms, error) {
	if clock != (Clock{}) && !(clock.Rate > 0 && !math.IsInf(clock.Rate, 0) && clock.First-clock.First == 0) {
		return nil, fmt.Errorf("%v Hz from %v s on: expected a positive sampling rate and a finite time",
			clock.Rate,
			clock.First)
	}
	t := &tableReader{clock: clock}
	if known, ok := r.(interface{ Len() int }); ok {
		t.size = known.Len()
	}
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, longestLine)
	for lines.Scan() {
		t.line++
		if err := t.read(lines.Bytes()); err != nil {
			return nil, err
		}
	}
	if err := lines.Err(); errors.Is(err, bufio.ErrTooLong) {
		return nil, &rowtable.Error{Line: t.line + 1, Got: "more than a megabyte in one line",
			Want: "expected a line a sample"}
	} else if err != nil {
		return nil, err
	}
	if err := t.finish(); err != nil {
		return nil, err
	}
	return &t.Waveforms, nil
}

type tableReader struct {
	clock     Clock
	size      int // of the whole table in bytes; 0: not known
	line      int
	separator string
	columns   []string  // names of all
	timeAt    int       // index of the time column, -1: none
	timeUnit  float64   // how many of the column's unit make a second
	blank     int       // line that was empty
	row       []float64 // of the line that is read, a number a column
	Waveforms
}

// timeUnits gives, for each time column, how many of its unit make a second.
func timeUnits(column string) (perSecond float64, ok bool) {
	switch strings.ToLower(column) {
	case "time":
		return 1, true
	case "time_ms":
		return 1000, true
	}
	return 0, false
}

func (t *tableReader) read(line []byte) error {
	switch {
	case t.line == 1:
		return t.readHeader(strings.TrimPrefix(string(line), "\uFEFF"))
	case len(bytes.TrimSpace(line)) == 0:
		if t.blank == 0 {
			t.blank = t.line
		}
		return nil
	case t.blank > 0:
		return &rowtable.Error{Line: t.blank, Got: "an empty line between others", Want: "remove it"}
	}
	if t.row == nil {
		t.reserve(len(line))
	}
	if !t.readPlain(line) {
		if err := t.readRow(string(line)); err != nil {
			return err
		}
	}
	t.keepRow()
	return nil
}

func (t *tableReader) readHeader(header string) error {
	switch {
	case strings.TrimSpace(header) == "":
		return &rowtable.Error{Line: 1, Got: "empty",
			Want: "expected a header of column names such as time, Fz, Cz"}
	case !utf8.ValidString(header):
		return &rowtable.Error{Line: 1, Got: "the header is not UTF-8 text", Want: "save the table as UTF-8"}
	}
	t.separator = "\t"
	if !strings.Contains(header, t.separator) {
		if strings.Contains(header, ";") {
			return &rowtable.Error{Line: 1, Got: "semicolons between columns",
				Want: "save the table with tabs, or with commas, and decimals with a point"}
		}
		t.separator = ","
	}
	t.timeAt = -1
	t.columns = t.split(header)
	spelled := map[string]string{} // canonical name to the text of its column
	for i, name := range t.columns {
		if perSecond, ok := timeUnits(name); ok {
			if t.timeAt >= 0 {
				return &rowtable.Error{Line: 1, Column: name, Got: "a second time column",
					Want: "keep one"}
			}
			t.timeAt, t.timeUnit = i, perSecond
			continue
		}
		if name == "" || strings.ContainsFunc(name, unicode.IsControl) {
			return &rowtable.Error{Line: 1,
				Got:  fmt.Sprintf("column %d has the name %q", i+1, rowtable.Clip(name)),
				Want: "expected a site's name"}
		}
		key := canonical(name)
		if other, seen := spelled[key]; seen {
			return &rowtable.Error{Line: 1, Column: name,
				Got: fmt.Sprintf("the site is there twice (%s, %s)", rowtable.Clip(other),
					rowtable.Clip(name)),
				Want: "keep one of the two columns"}
		}
		spelled[key] = name
		t.Sites = append(t.Sites, inStandardLetters(name))
	}
	switch {
	case len(t.Sites) > layout.MostSites:
		return &rowtable.Error{Line: 1, Got: words.Number(len(t.Sites), "site"),
			Want: fmt.Sprintf("expected at most %d, more than any cap has", layout.MostSites)}
	case len(t.Sites) == 0:
		return &rowtable.Error{Line: 1, Got: fmt.Sprintf("no site in %q", rowtable.Clip(header)),
			Want: "expected tabs or commas between time and the names of sites"}
	case t.timeAt < 0 && t.clock.Rate == 0:
		return &rowtable.Error{Line: 1, Got: "no time column",
			Want: "name the time in seconds time, that in milliseconds time_ms, or give the sampling rate"}
	case t.timeAt >= 0 && t.clock.Rate != 0:
		return &rowtable.Error{Line: 1, Got: "a time column and a given sampling rate",
			Want: "leave one of the two out"}
	}
	t.Values = make([][]float64, len(t.Sites))
	return nil
}

// split parts a line; blanks and one pair of quotes around an entry go.
func (t *tableReader) split(line string) []string {
	fields := strings.Split(line, t.separator)
	for i, f := range fields {
		f = strings.TrimSpace(f)
		if len(f) >= 2 && f[0] == '"' && f[len(f)-1] == '"' {
			f = strings.TrimSpace(f[1 : len(f)-1])
		}
		fields[i] = f
	}
	return fields
}

// reserve makes room for as many rows as the table has where all take about as
// many bytes as the first one. A number and what parts it from the next take two
// bytes or more, so that a short first row does not reserve much.
func (t *tableReader) reserve(first int) {
	t.row = make([]float64, len(t.columns))
	rows := t.size / max(first+1, 2*len(t.columns))
	rows += rows/32 + 1
	if t.timeAt >= 0 {
		t.Times = make([]float64, 0, rows)
	}
	for i, column := range matrix.New(len(t.Sites), rows) {
		t.Values[i] = column[:0]
	}
}

// readPlain reads a line of nothing but digits, signs, points and separators,
// where it stands. Where it returns false, readRow finds out what there is.
func (t *tableReader) readPlain(line []byte) bool {
	last := len(t.row) - 1
	for i := range t.row {
		x, length := rowtable.Leading(line)
		if length == 0 || (length == len(line)) != (i == last) {
			return false
		}
		t.row[i] = x
		if i < last {
			if line[length] != t.separator[0] {
				return false
			}
			line = line[length+1:]
		}
	}
	return true
}

func (t *tableReader) readRow(text string) error {
	fields := t.split(text)
	if len(fields) != len(t.columns) {
		return &rowtable.Error{Line: t.line, Got: words.Number(len(fields), "column"),
			Want: fmt.Sprintf("expected %d as in the header", len(t.columns))}
	}
	for i, f := range fields {
		x, ok := rowtable.Decimal(f)
		if !ok {
			return t.badNumber(i, f)
		}
		t.row[i] = x
	}
	return nil
}

// keepRow appends the row to the columns.
func (t *tableReader) keepRow() {
	site := 0
	for i, x := range t.row {
		if i == t.timeAt {
			t.Times = append(t.Times, x/t.timeUnit)
			continue
		}
		t.Values[site] = append(t.Values[site], x)
		site++
	}
}

// inStandardLetters is how a column's site, or pair of sites, is written, see
// [layout.Spelled].
func inStandardLetters(column string) string {
	parts := strings.Split(column, "-")
	for i, p := range parts {
		parts[i] = layout.Spelled(p)
	}
	return strings.Join(parts, "-")
}

func (t *tableReader) badNumber(column int, field string) error {
	e := &rowtable.Error{Line: t.line, Column: t.columns[column], Got: strconv.Quote(rowtable.Clip(field)),
		Want: "expected a finite number"}
	if strings.Contains(field, ",") {
		e.Want = "expected a number, decimals with a point"
	}
	return e
}

// finish checks the table as a whole.
func (t *tableReader) finish() error {
	if t.line == 0 {
		return t.readHeader("")
	}
	n := len(t.Values[0])
	if n < 2 {
		return &rowtable.Error{Got: words.Number(n, "sample"),
			Want: "expected two or more lines below the header"}
	}
	if t.timeAt >= 0 {
		return t.checkTimes()
	}
	t.Times = make([]float64, n)
	for i := range t.Times {
		t.Times[i] = t.clock.First + float64(i)/t.clock.Rate
	}
	return nil
}

// WriteTable writes waveforms as ReadTable reads them, tabs between columns,
// times in s, with the shortest decimals that read back to the same numbers.
// Names that hold a tab or a line break are an error.
func WriteTable(w io.Writer, of Waveforms) error {
	if i := slices.IndexFunc(of.Sites, func(s string) bool { return strings.ContainsAny(s, "\t\r\n") }); i >= 0 {
		return fmt.Errorf("site name %q holds a tab or a line break: rename it", of.Sites[i])
	}
	out := bufio.NewWriterSize(w, 1<<16)
	out.WriteString("time\t" + strings.Join(of.Sites, "\t") + "\n")
	var line []byte
	for j, t := range of.Times {
		line = strconv.AppendFloat(line[:0], t, 'f', -1, 64)
		for _, row := range of.Values {
			line = append(line, '\t')
			line = strconv.AppendFloat(line, row[j], 'f', -1, 64)
		}
		out.Write(append(line, '\n'))
	}
	return out.Flush()
}
