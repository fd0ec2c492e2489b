package bids

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"calotte/layout/rowtable"
)

const (
	byteOrderMark = "\ufeff"
	largest       = 1 << 26 // bytes of a table or a JSON file: far more than a million events
)

// A table is what a text file holds in rows and columns.
type table struct {
	names []string
	rows  []row
}

type row struct {
	line  int
	cells []string // as many as there are names
}

// column returns the index of a column, whose letter case does not matter, or
// −1.
func (t *table) column(name string) int {
	return slices.IndexFunc(t.names, func(n string) bool { return strings.EqualFold(n, name) })
}

// cell returns a row's cell of a column, n/a where there is no such column.
func (r row) cell(column int) string {
	if column < 0 {
		return rowtable.Missing
	}
	return r.cells[column]
}

// readText reads a text file in UTF-8, without its byte-order mark.
func readText(r io.Reader) ([]byte, error) {
	b, err := io.ReadAll(io.LimitReader(r, largest+1))
	if err != nil {
		return nil, err
	}
	if len(b) > largest {
		return nil, fmt.Errorf("more than %d MB: expected a small text file", largest>>20)
	}
	b = bytes.TrimPrefix(b, []byte(byteOrderMark))
	if !utf8.Valid(b) {
		line := 1
		for rest := b; len(rest) > 0; {
			r, size := utf8.DecodeRune(rest)
			if r == utf8.RuneError && size == 1 {
				break
			}
			if r == '\n' {
				line++
			}
			rest = rest[size:]
		}
		return nil, &rowtable.Error{Line: line, Got: "not UTF-8", Want: "save the file in that encoding"}
	}
	return b, nil
}

// readTable reads a table with a header line. Columns are separated by tabs;
// where the header holds none, by commas, or by semicolons where it holds no
// comma either, and then cells in quotes may hold anything. Blanks around a
// cell, a pair of quotes around it, blank lines and a byte-order mark mean
// nothing; lines may end in CR LF. An empty cell is n/a.
func readTable(r io.Reader) (*table, error) {
	text, err := readText(r)
	if err != nil {
		return nil, err
	}
	header, _, _ := bytes.Cut(text, []byte("\n"))
	split := splitTabs
	switch {
	case bytes.ContainsRune(header, '\t'):
	case !bytes.ContainsRune(header, ',') && bytes.ContainsRune(header, ';'):
		split = splitQuoted(';')
	default:
		split = splitQuoted(',')
	}
	rows, err := split(text)
	if err != nil {
		return nil, err
	}
	if len(rows) == 0 {
		return nil, &rowtable.Error{Got: "the table is empty", Want: "expected a line of column names"}
	}
	t := &table{names: rows[0].cells, rows: rows[1:]}
	return t, t.check(rows[0].line)
}

func splitTabs(text []byte) ([]row, error) {
	rows := make([]row, 0, bytes.Count(text, []byte("\n"))+1)
	line := 0
	for l := range bytes.Lines(text) {
		line++
		if s := strings.TrimRight(string(l), "\r\n"); strings.TrimSpace(s) != "" {
			rows = append(rows, row{line, strings.Split(s, "\t")})
		}
	}
	return rows, nil
}

func splitQuoted(comma rune) func([]byte) ([]row, error) {
	return func(text []byte) ([]row, error) {
		r := csv.NewReader(bytes.NewReader(text))
		r.Comma, r.FieldsPerRecord, r.LazyQuotes = comma, -1, true
		var rows []row
		for {
			cells, err := r.Read()
			if err == io.EOF {
				return rows, nil
			}
			var fault *csv.ParseError
			if errors.As(err, &fault) {
				return nil, &rowtable.Error{Line: fault.Line, Got: fault.Err.Error()}
			} else if err != nil {
				return nil, err
			}
			line, _ := r.FieldPos(0)
			if len(cells) > 1 || strings.TrimSpace(cells[0]) != "" {
				rows = append(rows, row{line, cells})
			}
		}
	}
}

// check cleans the cells and looks that each row has one for each name.
func (t *table) check(headerLine int) error {
	given := map[string]bool{}
	for i, name := range t.names {
		name = clean(name)
		t.names[i] = name
		switch {
		case name == "" || strings.ContainsFunc(name, unicode.IsControl):
			return &rowtable.Error{Line: headerLine,
				Got: fmt.Sprintf("column %d has the name %q", i+1, short(name)), Want: "expected text"}
		case given[strings.ToLower(name)]:
			return &rowtable.Error{Line: headerLine,
				Got: fmt.Sprintf("column %q is given twice", short(name)), Want: "keep one"}
		}
		given[strings.ToLower(name)] = true
	}
	for _, r := range t.rows {
		if len(r.cells) != len(t.names) {
			return &rowtable.Error{Line: r.line,
				Got:  fmt.Sprintf("%d columns", len(r.cells)),
				Want: fmt.Sprintf("expected %d as in the header", len(t.names))}
		}
		for i, cell := range r.cells {
			if r.cells[i] = clean(cell); r.cells[i] == "" {
				r.cells[i] = rowtable.Missing
			}
			if strings.ContainsFunc(r.cells[i], unicode.IsControl) {
				return &rowtable.Error{Line: r.line, Column: t.names[i],
					Got:  fmt.Sprintf("%q holds a control character", short(r.cells[i])),
					Want: "expected text"}
			}
		}
	}
	return nil
}

// clean takes off blanks and a pair of quotes.
func clean(cell string) string {
	cell = strings.TrimSpace(cell)
	if len(cell) >= 2 && cell[0] == '"' && cell[len(cell)-1] == '"' {
		cell = strings.TrimSpace(cell[1 : len(cell)-1])
	}
	return cell
}

// short cuts a text for an error.
func short(text string) string {
	const most = 40
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return text
}
