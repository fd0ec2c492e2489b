package erp

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// A TableError says where a table of amplitudes breaks the form that ReadTable
// expects. Line counts from 1; zero stands for the table as a whole.
type TableError struct {
	Line   int
	Column string // empty when the line as a whole is meant
	Got    string
	Want   string // what was expected and what to do
}

func (e *TableError) Error() string {
	var where string
	if e.Line > 0 {
		where = fmt.Sprintf("line %d: ", e.Line)
	}
	if e.Column != "" {
		where = strings.TrimSuffix(where, ": ")
		if where != "" {
			where += ", "
		}
		where += fmt.Sprintf("column %q: ", e.Column)
	}
	return where + e.Got + ": " + e.Want
}

// Clock places the rows of a table without a time column: its sampling rate in
// Hz, and the time of the first row in s. A zero Clock means the table must
// have a time column.
type Clock struct{ Rate, First float64 }

// ReadTable reads amplitudes over time: a header line, then a line a sample.
// Columns are separated by tabs, or by commas where the header holds no tab.
// One column is the time, "time" in s or "time_ms"; without one the clock gives
// it. All others are sites in µV, in any number, with names that differ.
//
// Times must be evenly spaced and increase; all values must be finite. Times
// that can only be meant in another unit than their column's are an error; for
// amplitudes see CheckMicrovolts.
func ReadTable(r io.Reader, clock Clock) (sites []string, times []float64, values [][]float64, err error) {
	lines := bufio.NewReader(r)
	header, err := readLine(lines)
	header = strings.TrimPrefix(header, "\uFEFF")
	if err != nil && err != io.EOF {
		return nil, nil, nil, err
	}
	if strings.TrimSpace(header) == "" {
		return nil, nil, nil, &TableError{Line: 1, Got: "empty", Want: "expected a header of column names such as time, Fz, Cz"}
	}
	t := &tableReader{separator: "\t"}
	if !strings.Contains(header, "\t") {
		t.separator = ","
	}
	if err := t.readHeader(header, clock); err != nil {
		return nil, nil, nil, err
	}
	for line := 2; ; line++ {
		text, err := readLine(lines)
		if text != "" {
			if err := t.readRow(line, text); err != nil {
				return nil, nil, nil, err
			}
		}
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, nil, nil, err
		}
	}
	if err := t.finish(clock); err != nil {
		return nil, nil, nil, err
	}
	return t.sites, t.times, t.values, nil
}

func readLine(r *bufio.Reader) (string, error) {
	text, err := r.ReadString('\n')
	return strings.TrimRight(text, "\r\n"), err
}

type tableReader struct {
	separator string
	sites     []string
	timeAt    int // index of the time column, -1: none
	timeUnit  float64
	columns   int
	times     []float64
	values    [][]float64 // site × sample
}

// timeColumns gives the number that each time column's values are divided by.
var timeColumns = map[string]float64{"time": 1, "time_ms": 1000}

func (t *tableReader) readHeader(header string, clock Clock) error {
	if !utf8.ValidString(header) {
		return &TableError{Line: 1, Got: "the header is not UTF-8 text", Want: "save the table as UTF-8"}
	}
	t.timeAt = -1
	names := t.split(header)
	for i, name := range names {
		name = strings.TrimSpace(name)
		if divisor, ok := timeColumns[name]; ok {
			if t.timeAt >= 0 {
				return &TableError{Line: 1, Column: name, Got: "a second time column", Want: "keep one"}
			}
			t.timeAt, t.timeUnit = i, divisor
			continue
		}
		if name == "" {
			return &TableError{Line: 1, Got: fmt.Sprintf("column %d has no name", i+1), Want: "expected a site's name"}
		}
		for _, s := range t.sites {
			if canonical(s) == canonical(name) {
				return &TableError{Line: 1, Column: name, Got: "the site is there twice (" + s + ", " + name + ")", Want: "keep one of the two columns"}
			}
		}
		t.sites = append(t.sites, name)
	}
	t.columns = len(names)
	switch {
	case len(t.sites) == 0:
		return &TableError{Line: 1, Got: fmt.Sprintf("no site in %q", header), Want: "expected tabs or commas between time and the names of sites"}
	case t.timeAt < 0 && clock.Rate == 0:
		return &TableError{Line: 1, Got: "no time column", Want: "name the time in seconds time, that in milliseconds time_ms, or give the sampling rate"}
	case t.timeAt >= 0 && clock.Rate != 0:
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
			f = f[1 : len(f)-1]
		}
		fields[i] = f
	}
	return fields
}

func (t *tableReader) readRow(line int, text string) error {
	fields := t.split(text)
	if len(fields) != t.columns {
		return &TableError{Line: line, Got: fmt.Sprintf("%d columns", len(fields)), Want: fmt.Sprintf("expected %d as in the header", t.columns)}
	}
	site := 0
	for i, f := range fields {
		v, err := strconv.ParseFloat(f, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			column := "time"
			if i != t.timeAt {
				column = t.sites[site]
			}
			return &TableError{Line: line, Column: column, Got: strconv.Quote(clip(f)), Want: "expected a finite number"}
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

// clip keeps an error on one short line.
func clip(text string) string {
	if len(text) > 40 {
		return text[:40] + "…"
	}
	return text
}

func (t *tableReader) finish(clock Clock) error {
	n := len(t.values[0])
	if n < 2 {
		return &TableError{Got: fmt.Sprintf("%d samples", n), Want: "expected two or more lines below the header"}
	}
	if t.timeAt < 0 {
		t.times = make([]float64, n)
		for i := range t.times {
			t.times[i] = clock.First + float64(i)/clock.Rate
		}
	} else if err := t.checkTimes(); err != nil {
		return err
	}
	return nil
}

func (t *tableReader) checkTimes() error {
	n := len(t.times)
	step := (t.times[n-1] - t.times[0]) / float64(n-1)
	for i := 1; i < n; i++ {
		switch d := t.times[i] - t.times[i-1]; {
		case d <= 0:
			return &TableError{Line: i + 2, Column: "time", Got: fmt.Sprintf("time runs backwards or stands still (%v after %v s)", t.times[i], t.times[i-1]), Want: "expected increasing times"}
		case math.Abs(d-step) > 0.05*step:
			return &TableError{Line: i + 2, Column: "time", Got: fmt.Sprintf("a step of %.4g s where %.4g s is usual", d, step), Want: "expected evenly spaced times"}
		}
	}
	// Amplifiers sample at 50 Hz to 50 kHz; a step far outside is another unit.
	const slowest, fastest = 0.1, 1e-5
	switch {
	case step >= slowest && t.timeUnit == 1:
		return &TableError{Column: "time", Got: fmt.Sprintf("a step of %.4g s, which looks like milliseconds", step), Want: "name the column time_ms, or give seconds"}
	case step < fastest && t.timeUnit != 1:
		return &TableError{Column: "time_ms", Got: fmt.Sprintf("a step of %.4g ms, which looks like seconds", step*1000), Want: "name the column time, or give milliseconds"}
	}
	return nil
}

// CheckMicrovolts refuses amplitudes, site × sample, that can only be meant in
// another unit than µV. All zero is allowed.
func CheckMicrovolts(values [][]float64) error {
	largest := 0.0
	for _, row := range values {
		for _, v := range row {
			largest = max(largest, math.Abs(v))
		}
	}
	// Averages are of the order of 1 to 100 µV: a nanovolt is below any
	// amplifier's noise, a tenth of a volt above its range.
	const least, most = 1e-3, 1e5
	switch {
	case largest > 0 && largest < least:
		return &TableError{Got: fmt.Sprintf("the largest amplitude is %.3g, which looks like volts", largest), Want: "give µV (volts times 1,000,000)"}
	case largest > most:
		return &TableError{Got: fmt.Sprintf("the largest amplitude is %.3g µV", largest), Want: "no scalp potential is that large: give µV"}
	}
	return nil
}

// WriteTable writes amplitudes as ReadTable reads them, tabs between columns,
// times in s, with the shortest decimals that read back to the same numbers.
// Values are site × sample.
func WriteTable(w io.Writer, sites []string, times []float64, values [][]float64) error {
	if i := slices.IndexFunc(sites, func(s string) bool { return strings.ContainsAny(s, "\t\r\n") }); i >= 0 {
		return fmt.Errorf("site name %q holds a tab or a line break", sites[i])
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
