package main

import (
	"cmp"
	"maps"
	"slices"

	"calotte/layout"
)

// resting are the usual names of markers that no condition is made of (common
// practice, no source).
var resting = []string{"rest", "resting", "break", "pause", "baseline", "fixation", "boundary", "start", "end"}

// likelyConditions sorts labels by how many events have them, without markers
// of rest and answers: those that are called so, and one of as many events as
// all others together, give or take one, which stands between them. Where
// nothing would be left, all are returned.
func likelyConditions(counts map[string]int) []string {
	labels := slices.SortedFunc(maps.Keys(counts), func(a, b string) int {
		return cmp.Or(cmp.Compare(counts[b], counts[a]), cmp.Compare(a, b))
	})
	total := 0
	for _, n := range counts {
		total += n
	}
	likely := slices.DeleteFunc(slices.Clone(labels), func(l string) bool {
		others := total - counts[l]
		between := len(labels) > 2 && counts[l] >= others-1 && counts[l] <= others+1
		return between || slices.Contains(resting, layout.Fold(l))
	})
	if len(likely) == 0 {
		return labels
	}
	return likely
}
