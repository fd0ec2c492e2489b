// Package rowtable reads small tables of texts that people write by hand or in
// a spreadsheet: decisions, declared windows, marked electrodes.
package rowtable

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// A Table is a table of texts with named columns: a header line, then a line a
// row, tabs between columns, or commas where the header holds no tab.
type Table struct {
	Rows []Row

	separator string
	columns   []string
}

// A Row is one line of it.
type Row struct {
	line  int
	cells map[string]string
}

// Columns are the names in the header, in their order.
func (t *Table) Columns() []string { return t.columns }

// Has reports whether the table has a column.
func (t *Table) Has(column string) bool { return slices.Contains(t.columns, column) }

// Missing is how such tables write that there is no value.
const Missing = "n/a"

// Read reads a table that has the columns asked for; others may stand beside
// them. Faults are of type *Error.
func Read(r io.Reader, columns ...string) (*Table, error) {
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, 1<<20)
	t := &Table{}
	for line := 1; lines.Scan(); line++ {
		text := strings.TrimSuffix(strings.TrimPrefix(lines.Text(), "\ufeff"), "\r")
		var err error
		switch {
		case !utf8.ValidString(text):
			err = &Error{Line: line, Got: "bytes that are no UTF-8", Want: "expected a table in UTF-8"}
		case strings.TrimSpace(text) == "":
		case t.columns == nil:
			err = t.header(text, line, columns)
		default:
			err = t.row(text, line)
		}
		if err != nil {
			return nil, err
		}
	}
	switch err := lines.Err(); {
	case errors.Is(err, bufio.ErrTooLong):
		return nil, &Error{Got: "a line of more than a megabyte",
			Want: "expected a table with columns " + strings.Join(columns, " and ")}
	case err != nil:
		return nil, err
	case t.columns == nil:
		return nil, &Error{Got: "nothing",
			Want: "expected a header line with " + strings.Join(columns, " and ")}
	}
	return t, nil
}

func (t *Table) header(text string, line int, columns []string) error {
	t.separator = ","
	if strings.Contains(text, "\t") {
		t.separator = "\t"
	}
	t.columns = t.split(text)
	for _, c := range columns {
		if !slices.Contains(t.columns, c) {
			want := "expected a header line with " + strings.Join(columns, " and ")
			if slices.Contains(strings.Fields(text), c) {
				want += ", parted by tabs or commas, not by blanks"
			}
			return &Error{Line: line, Got: "no column " + strconv.Quote(c), Want: want}
		}
	}
	seen := map[string]bool{}
	for _, c := range t.columns {
		if seen[c] {
			return &Error{Line: line, Column: c, Got: "the column twice", Want: "expected it once"}
		}
		seen[c] = true
	}
	return nil
}

func (t *Table) split(text string) []string {
	cells := strings.Split(text, t.separator)
	for i, c := range cells {
		cells[i] = strings.TrimSpace(c)
	}
	return cells
}

func (t *Table) row(text string, line int) error {
	cells := t.split(text)
	if len(cells) != len(t.columns) {
		return &Error{Line: line, Got: fmt.Sprintf("%d entries", len(cells)),
			Want: fmt.Sprintf("expected %d as in the header", len(t.columns))}
	}
	r := Row{line, map[string]string{}}
	for i, c := range cells {
		r.cells[t.columns[i]] = c
	}
	t.Rows = append(t.Rows, r)
	return nil
}

// Text is the entry of a column, empty where there is none or it is n/a.
func (r Row) Text(column string) string {
	if c := r.cells[column]; c != Missing {
		return c
	}
	return ""
}

// Number is the entry of a column as a number, NaN where it is n/a and may be.
func (r Row) Number(column, what string, optional bool) (float64, error) {
	text := r.Text(column)
	if text == "" && optional {
		return math.NaN(), nil
	}
	x, ok := Decimal(text)
	if !ok {
		return 0, r.Fault(column, strconv.Quote(Clip(r.cells[column])), what)
	}
	return x, nil
}

// Fault is an error about an entry: what it says, and what was expected.
func (r Row) Fault(column, got, want string) error {
	return &Error{Line: r.line, Column: column, Got: got, Want: "expected " + want}
}
