package array

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"

	"calotte/layout/rowtable"
	"calotte/topo/recording"
)

// longestLine bounds a line of a table in bytes: some ten thousand columns.
const longestLine = 1 << 18

// OpenText reads a table, a column a site and a line a sample. Columns are
// parted by tabs or, where the first line has none, semicolons, and else
// commas; the first line may name them. Values have decimals after a point.
func OpenText(r io.Reader) (*Array, error) {
	t := tableReader{lines: bufio.NewScanner(r)}
	t.lines.Buffer(make([]byte, 0, 1<<16), longestLine)
	for t.lines.Scan() {
		t.line++
		if err := t.add(strings.TrimRight(t.lines.Text(), "\r")); err != nil {
			return nil, err
		}
	}
	switch err := t.lines.Err(); {
	case errors.Is(err, bufio.ErrTooLong):
		return nil, &rowtable.Error{Line: t.line + 1, Got: fmt.Sprintf("more than %d bytes", longestLine),
			Want: "expected a line a sample"}
	case err != nil:
		return nil, err
	case len(t.values) == 0:
		return nil, &rowtable.Error{Got: "no line of numbers", Want: "expected a line a sample"}
	}
	shape := []int{len(t.values) / t.columns, t.columns}
	return &Array{Kind: recording.Text, Shape: shape, Names: t.names, strides: rowMajor(shape),
		numbers: parsed(t.values)}, nil
}

// A tableReader takes lines of numbers apart.
type tableReader struct {
	lines   *bufio.Scanner
	line    int
	parting string
	names   []string
	columns int
	ended   bool // by an empty line, behind which nothing may stand
	values  []float64
}

func (t *tableReader) add(line string) error {
	if t.columns == 0 {
		line = strings.TrimPrefix(line, "\ufeff")
		t.parting = ","
		for _, p := range []string{";", "\t"} {
			if strings.Contains(line, p) {
				t.parting = p
			}
		}
		t.columns = strings.Count(line, t.parting) + 1
		if !t.numbers(line) {
			return t.header(line)
		}
	}
	if strings.TrimSpace(line) == "" {
		t.ended = true
		return nil
	}
	if n := strings.Count(line, t.parting) + 1; n != t.columns || t.ended {
		return &rowtable.Error{Line: t.line, Got: fmt.Sprintf("%d columns", n),
			Want: fmt.Sprintf("expected %d, as in the first line, and no empty line before", t.columns)}
	}
	i := 0
	for cell := range strings.SplitSeq(line, t.parting) {
		x, ok := rowtable.Decimal(strings.TrimSpace(cell))
		if !ok {
			return &rowtable.Error{Line: t.line, Column: t.column(i),
				Got:  fmt.Sprintf("%q", rowtable.Clip(cell)),
				Want: "expected a finite number, decimals after a point"}
		}
		t.values = append(t.values, x)
		i++
	}
	return nil
}

// numbers reports whether some cell of a line is one, so that the line names no
// columns.
func (t *tableReader) numbers(line string) bool {
	for cell := range strings.SplitSeq(line, t.parting) {
		if _, ok := rowtable.Decimal(strings.TrimSpace(cell)); ok {
			return true
		}
	}
	return false
}

func (t *tableReader) header(line string) error {
	for cell := range strings.SplitSeq(line, t.parting) {
		name := strings.TrimSpace(strings.Trim(strings.TrimSpace(cell), `"`))
		if name == "" {
			return &rowtable.Error{Line: t.line, Got: "a column without a name",
				Want: "expected a site a column"}
		}
		t.names = append(t.names, name)
	}
	return nil
}

func (t *tableReader) column(i int) string {
	if t.names != nil {
		return t.names[i]
	}
	return fmt.Sprint(i + 1)
}
