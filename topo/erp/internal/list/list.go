package list

import (
	"slices"
	"strings"

	"calotte/layout"
)

// AppendNew appends the items that are not there yet.
func AppendNew[T comparable](list []T, items ...T) []T {
	for _, item := range items {
		if !slices.Contains(list, item) {
			list = append(list, item)
		}
	}
	return list
}

// Pick returns the items at the given indexes, nil of nil.
func Pick[T any](items []T, from []int) []T {
	if items == nil {
		return nil
	}
	out := make([]T, len(from))
	for i, j := range from {
		out[i] = items[j]
	}
	return out
}

// Indexes counts from 0 to n − 1.
func Indexes(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// Texts are the names as texts.
func Texts(names []layout.Name) []string {
	texts := make([]string, len(names))
	for i, n := range names {
		texts[i] = string(n)
	}
	return texts
}

// Join lists the names with commas between.
func Join(names []layout.Name) string { return strings.Join(Texts(names), ",") }
