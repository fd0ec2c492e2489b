package main

import (
	"slices"
	"testing"
)

// Rest between the tasks is no condition, whatever it is called, unless there
// is nothing else.
func TestLikelyConditions(t *testing.T) {
	for _, c := range []struct {
		counts map[string]int
		want   []string
	}{
		{map[string]int{"T0": 15, "T1": 8, "T2": 7}, []string{"T1", "T2"}},
		{map[string]int{"T0": 16, "T1": 8, "T2": 7}, []string{"T1", "T2"}},
		{map[string]int{"go": 10, "stop": 10}, []string{"go", "stop"}},
		{map[string]int{"Rest": 40, "go": 10, "stop": 20}, []string{"stop", "go"}},
		{map[string]int{"rest": 4}, []string{"rest"}},
		{map[string]int{"a": 5, "b": 9, "c": 7}, []string{"b", "c", "a"}},
		{map[string]int{}, nil},
	} {
		if got := likelyConditions(c.counts); !slices.Equal(got, c.want) {
			t.Errorf("%v: %v, want %v", c.counts, got, c.want)
		}
	}
}
