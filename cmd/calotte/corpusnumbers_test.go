//go:build linux

package main

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// Numbers agree to this part of themselves, and where they are small beside the
// others of their column to the second part of the largest of these.
const (
	relative = 1e-9
	smallest = 1e-12
)

func agree(got, want, largest float64) bool {
	return math.Abs(got-want) <= relative*math.Abs(want)+smallest*largest
}

// sameTable compares the columns that a table of expected numbers names; others
// may stand beside them.
func sameTable(got, want []byte) error {
	columns, rows := splitTable(want)
	gotColumns, gotRows := splitTable(got)
	if len(gotRows) != len(rows) {
		return fmt.Errorf("%d rows, want %d", len(gotRows), len(rows))
	}
	for j, name := range columns {
		at := slices.Index(gotColumns, name)
		if at < 0 {
			return fmt.Errorf("no column %q among %q", name, gotColumns)
		}
		largest := 0.
		for _, row := range rows {
			if x, err := strconv.ParseFloat(row[j], 64); err == nil {
				largest = max(largest, math.Abs(x))
			}
		}
		for i, row := range rows {
			if at >= len(gotRows[i]) || !sameCell(gotRows[i][at], row[j], largest) {
				return fmt.Errorf("row %d, column %q: got %q, want %s", i+1, name, gotRows[i], row[j])
			}
		}
	}
	return nil
}

func sameCell(got, want string, largest float64) bool {
	x, errX := strconv.ParseFloat(got, 64)
	y, errY := strconv.ParseFloat(want, 64)
	if errX != nil || errY != nil {
		return got == want
	}
	return agree(x, y, largest)
}

func splitTable(text []byte) (columns []string, rows [][]string) {
	for line := range strings.Lines(string(text)) {
		cells := strings.Split(strings.TrimRight(line, "\r\n"), "\t")
		if columns == nil {
			columns = cells
			continue
		}
		rows = append(rows, cells)
	}
	return columns, rows
}

// sameJSON compares the keys that an expected document names; others may stand
// beside them.
func sameJSON(got, want []byte) error {
	var x, y any
	if err := json.Unmarshal(got, &x); err != nil {
		return fmt.Errorf("what came out is no JSON: %w", err)
	}
	if err := json.Unmarshal(want, &y); err != nil {
		return err
	}
	largest := map[string]float64{}
	largestOf(largest, "", y)
	return sameValue("", "", x, y, largest)
}

// largestOf notes the largest number of each key.
func largestOf(largest map[string]float64, key string, value any) {
	switch v := value.(type) {
	case float64:
		largest[key] = max(largest[key], math.Abs(v))
	case []any:
		for _, one := range v {
			largestOf(largest, key, one)
		}
	case map[string]any:
		for k, one := range v {
			largestOf(largest, k, one)
		}
	}
}

func sameValue(path, key string, got, want any, largest map[string]float64) error {
	switch w := want.(type) {
	case map[string]any:
		g, ok := got.(map[string]any)
		if !ok {
			return fmt.Errorf("%s is %v, want keys", path, got)
		}
		for _, k := range slices.Sorted(maps.Keys(w)) {
			if err := sameValue(path+"."+k, k, g[k], w[k], largest); err != nil {
				return err
			}
		}
		return nil
	case []any:
		g, ok := got.([]any)
		if !ok || len(g) != len(w) {
			return fmt.Errorf("%s is %v, want a list of %d", path, got, len(w))
		}
		for i := range w {
			if err := sameValue(fmt.Sprintf("%s[%d]", path, i), key, g[i], w[i], largest); err != nil {
				return err
			}
		}
		return nil
	case float64:
		if g, ok := got.(float64); ok && agree(g, w, largest[key]) {
			return nil
		}
	default:
		if got == want {
			return nil
		}
	}
	return fmt.Errorf("%s is %v, want %v", path, got, want)
}

// The comparison sees a difference of a hundred-millionth, a lost row, another
// text.
func TestCorpusComparison(t *testing.T) {
	const table = "site\tvalue\nCz\t100\nPz\t0.001\n"
	for _, c := range []struct {
		got  string
		same bool
	}{
		{table, true},
		{"more\tvalue\tsite\n1\t100.00000009\tCz\n1\t0.001\tPz\n", true},
		{strings.Replace(table, "100", "100.000001", 1), false},
		{strings.Replace(table, "0.001", "0.0010001", 1), false},
		{strings.Replace(table, "Pz", "Oz", 1), false},
		{strings.Replace(table, "100", "n/a", 1), false},
		{table + "Oz\t1\n", false},
		{"site\nCz\nPz\n", false},
		{"", false},
	} {
		if err := sameTable([]byte(c.got), []byte(table)); (err == nil) != c.same {
			t.Errorf("%q: %v", c.got, err)
		}
	}
	const object = `{"a": [{"x": 90, "name": "Cz"}, {"x": 0}], "b": null}`
	for _, c := range []struct {
		got  string
		same bool
	}{
		{object, true},
		{`{"a": [{"x": 90.00000005, "name": "Cz", "y": 1}, {"x": 5e-11}], "b": null, "c": 2}`, true},
		{`{"a": [{"x": 90.000001, "name": "Cz"}, {"x": 0}], "b": null}`, false},
		{`{"a": [{"x": 90, "name": "Cz"}, {"x": 1e-9}], "b": null}`, false},
		{`{"a": [{"x": 90, "name": "Cz"}], "b": null}`, false},
		{`{"a": [{"x": 90, "name": "Pz"}, {"x": 0}], "b": null}`, false},
		{`[]`, false},
		{`{`, false},
	} {
		if err := sameJSON([]byte(c.got), []byte(object)); (err == nil) != c.same {
			t.Errorf("%s: %v", c.got, err)
		}
	}
}
