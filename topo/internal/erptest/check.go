package erptest

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// WantError checks that an error says what it should, in one line.
func WantError(tb testing.TB, err error, parts ...string) {
	tb.Helper()
	if err == nil {
		tb.Errorf("no error, want %q", parts)
		return
	}
	for _, p := range parts {
		if !strings.Contains(err.Error(), p) {
			tb.Errorf("error %q does not say %q", err, p)
		}
	}
	if strings.Contains(err.Error(), "\n") {
		tb.Errorf("error %q has more than one line", err)
	}
}

// Near reports whether a number is another but for a tolerance.
func Near(got, want, tolerance float64) bool { return math.Abs(got-want) <= tolerance }

// WantRows compares tables, row by row.
func WantRows(t *testing.T, what string, got, want [][]float64, tolerance float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: %d rows, want %d", what, len(got), len(want))
	}
	for i := range want {
		for k := range want[i] {
			if !Near(got[i][k], want[i][k], tolerance) {
				t.Fatalf("%s, row %d, sample %d: %v, want %v", what, i, k, got[i][k], want[i][k])
			}
		}
	}
}

// ErrRead is what a reader that fails returns.
var ErrRead = errors.New("the disk is gone")
