package erptest

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// root is the folder of the module, from whatever room a test runs in.
func root(tb testing.TB) string {
	tb.Helper()
	for dir := "."; len(dir) < 30; dir = filepath.Join(dir, "..") {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir
		}
	}
	tb.Fatal("no go.mod above the test")
	return ""
}

// Rows reads a table of the reference data without its header line.
func Rows(tb testing.TB, name string) [][]string {
	tb.Helper()
	b, err := os.ReadFile(filepath.Join(root(tb), "testdata", "erp", name))
	if err != nil {
		tb.Fatal(err)
	}
	var table [][]string
	for line := range strings.Lines(string(b)) {
		table = append(table, strings.Split(strings.TrimSuffix(line, "\n"), "\t"))
	}
	return table[1:]
}

// Numbers reads texts as numbers.
func Numbers(tb testing.TB, texts []string) []float64 {
	tb.Helper()
	out := make([]float64, len(texts))
	for i, text := range texts {
		var err error
		if out[i], err = strconv.ParseFloat(text, 64); err != nil {
			tb.Fatal(err)
		}
	}
	return out
}

// ReadJSON reads a file of the reference data.
func ReadJSON(tb testing.TB, name string, v any) {
	tb.Helper()
	b, err := os.ReadFile(filepath.Join(root(tb), "testdata", "erp", name))
	if err != nil {
		tb.Fatal(err)
	}
	if err := json.Unmarshal(b, v); err != nil {
		tb.Fatal(err)
	}
}
