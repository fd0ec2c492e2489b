package erp

import (
	"bufio"
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
	"calotte/topo/rowtable"
)

// A TableError says where a table of amplitudes breaks the form that ReadTable
// expects. Line counts from 1; zero stands for the table as a whole.
type TableError = rowtable.Error

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
// number, with names that differ. Values come back site × sample.
//
// Times must be evenly spaced and increase; all values must be finite. Times
// that can only be meant in another unit than their column's are an error; for
// amplitudes see [CheckMicrovolts]. Faults of the table are of type *TableError.
func ReadTable(r io.Reader, clock Clock) (sites []string, times []float64, values [][]float64, err error) {
	if clock != (Clock{}) && !(clock.Rate > 0 && !math.IsInf(clock.Rate, 0) && clock.First-clock.First == 0) {
		return nil, nil, nil, fmt.Errorf("%v Hz from %v s on: expected a positive sampling rate and a finite time", clock.Rate, clock.First)
	}
	t := &tableReader{clock: clock}
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, longestLine)
	for lines.Scan() {
		t.line++
		if err := t.read(lines.Text()); err != nil {
			return nil, nil, nil, err
		}
	}
	if err := lines.Err(); errors.Is(err, bufio.ErrTooLong) {
		return nil, nil, nil, &TableError{Line: t.line + 1, Got: "more than a megabyte in one line", Want: "expected a line a sample"}
	} else if err != nil {
		return nil, nil, nil, err
	}
	if err := t.finish(); err != nil {
		return nil, nil, nil, err
	}
	return t.sites, t.times, t.values, nil
}

type tableReader struct {
	clock     Clock
	line      int
	separator string
	columns   []string // names of all
	timeAt    int      // index of the time column, -1: none
	timeUnit  float64  // how many of the column's unit make a second
	sites     []string
	times     []float64
	values    [][]float64 // site × sample
	blank     int         // line that was empty
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

func (t *tableReader) read(text string) error {
	switch {
	case t.line == 1:
		return t.readHeader(strings.TrimPrefix(text, "\uFEFF"))
	case strings.TrimSpace(text) == "":
		if t.blank == 0 {
			t.blank = t.line
		}
		return nil
	case t.blank > 0:
		return &TableError{Line: t.blank, Got: "an empty line between others", Want: "remove it"}
	}
	return t.readRow(text)
}

func (t *tableReader) readHeader(header string) error {
	switch {
	case strings.TrimSpace(header) == "":
		return &TableError{Line: 1, Got: "empty", Want: "expected a header of column names such as time, Fz, Cz"}
	case !utf8.ValidString(header):
		return &TableError{Line: 1, Got: "the header is not UTF-8 text", Want: "save the table as UTF-8"}
	}
	t.separator = "\t"
	if !strings.Contains(header, t.separator) {
		if strings.Contains(header, ";") {
			return &TableError{Line: 1, Got: "semicolons between columns", Want: "save the table with tabs, or with commas, and decimals with a point"}
		}
		t.separator = ","
	}
	t.timeAt = -1
	t.columns = t.split(header)
	spelled := map[string]string{} // canonical name to the text of its column
	for i, name := range t.columns {
		if perSecond, ok := timeUnits(name); ok {
			if t.timeAt >= 0 {
				return &TableError{Line: 1, Column: name, Got: "a second time column", Want: "keep one"}
			}
			t.timeAt, t.timeUnit = i, perSecond
			continue
		}
		if name == "" || strings.ContainsFunc(name, unicode.IsControl) {
			return &TableError{Line: 1, Got: fmt.Sprintf("column %d has the name %q", i+1, rowtable.Clip(name)), Want: "expected a site's name"}
		}
		key := canonical(name)
		if other, seen := spelled[key]; seen {
			return &TableError{Line: 1, Column: name, Got: fmt.Sprintf("the site is there twice (%s, %s)", rowtable.Clip(other), rowtable.Clip(name)), Want: "keep one of the two columns"}
		}
		spelled[key] = name
		t.sites = append(t.sites, name)
	}
	switch {
	case len(t.sites) > layout.MostSites:
		return &TableError{Line: 1, Got: number(len(t.sites), "site"), Want: fmt.Sprintf("expected at most %d, more than any cap has", layout.MostSites)}
	case len(t.sites) == 0:
		return &TableError{Line: 1, Got: fmt.Sprintf("no site in %q", rowtable.Clip(header)), Want: "expected tabs or commas between time and the names of sites"}
	case t.timeAt < 0 && t.clock.Rate == 0:
		return &TableError{Line: 1, Got: "no time column", Want: "name the time in seconds time, that in milliseconds time_ms, or give the sampling rate"}
	case t.timeAt >= 0 && t.clock.Rate != 0:
		return &TableError{Line: 1, Got: "a time column and a given sampling rate", Want: "leave one of the two out"}
	}
	t.values = make([][]float64, len(t.sites))
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

func (t *tableReader) readRow(text string) error {
	fields := t.split(text)
	if len(fields) != len(t.columns) {
		return &TableError{Line: t.line, Got: number(len(fields), "column"), Want: fmt.Sprintf("expected %d as in the header", len(t.columns))}
	}
	site := 0
	for i, f := range fields {
		v, ok := rowtable.Decimal(f)
		if !ok {
			return t.badNumber(i, f)
		}
		if i == t.timeAt {
			t.times = append(t.times, v/t.timeUnit)
			continue
		}
		t.values[site] = append(t.values[site], v)
		site++
	}
	return nil
}

func (t *tableReader) badNumber(column int, field string) error {
	e := &TableError{Line: t.line, Column: t.columns[column], Got: strconv.Quote(rowtable.Clip(field)), Want: "expected a finite number"}
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
	n := len(t.values[0])
	if n < 2 {
		return &TableError{Got: number(n, "sample"), Want: "expected two or more lines below the header"}
	}
	if t.timeAt >= 0 {
		return t.checkTimes()
	}
	t.times = make([]float64, n)
	for i := range t.times {
		t.times[i] = t.clock.First + float64(i)/t.clock.Rate
	}
	return nil
}

// WriteTable writes amplitudes as ReadTable reads them, tabs between columns,
// times in s, with the shortest decimals that read back to the same numbers.
// Values are site × sample. Names that hold a tab or a line break are an error.
func WriteTable(w io.Writer, sites []string, times []float64, values [][]float64) error {
	if i := slices.IndexFunc(sites, func(s string) bool { return strings.ContainsAny(s, "\t\r\n") }); i >= 0 {
		return fmt.Errorf("site name %q holds a tab or a line break: rename it", sites[i])
	}
	out := bufio.NewWriterSize(w, 1<<16)
	out.WriteString("time\t" + strings.Join(sites, "\t") + "\n")
	var line []byte
	for j, t := range times {
		line = strconv.AppendFloat(line[:0], t, 'f', -1, 64)
		for i := range values {
			line = append(line, '\t')
			line = strconv.AppendFloat(line, values[i][j], 'f', -1, 64)
		}
		out.Write(append(line, '\n'))
	}
	return out.Flush()
}
