package layout

import (
	"fmt"
	"slices"
	"strings"
)

// An UnknownError says that a label is no name of this package.
type UnknownError struct {
	Label   string
	Nearest []Name // up to three, equally near; empty when nothing is near
}

func (e *UnknownError) Error() string {
	if fold(e.Label) == "" {
		return "empty site name: give one such as Cz"
	}
	if len(e.Nearest) == 0 {
		return fmt.Sprintf("unknown site %q: not a name of the 10-20, 10-10 or 10-5 system", e.Label)
	}
	near := make([]string, len(e.Nearest))
	for i, n := range e.Nearest {
		near[i] = string(n)
	}
	return fmt.Sprintf("unknown site %q: nearest names are %s", e.Label, strings.Join(near, ", "))
}

// Names at a greater edit distance share too little to be what was meant.
const nearDistance = 2

// nearest lists up to three names at the smallest edit distance from a folded
// label. Ties go to the coarser system, whose sites are the more common.
func nearest(folded string) []Name {
	type candidate struct {
		name     Name
		distance int
	}
	var near []candidate
	for _, n := range names().ordered {
		known := fold(string(n))
		if max(len(folded)-len(known), len(known)-len(folded)) > nearDistance {
			continue
		}
		// A distance of the whole length would be a word with no letter in common.
		if d := editDistance(folded, known); d <= nearDistance && d < len(known) && d < len(folded) {
			near = append(near, candidate{n, d})
		}
	}
	slices.SortStableFunc(near, func(a, b candidate) int { return a.distance - b.distance })
	var found []Name
	for _, c := range near[:min(3, len(near))] {
		if c.distance == near[0].distance {
			found = append(found, c.name)
		}
	}
	return found
}

// editDistance counts the insertions, deletions and substitutions of bytes that
// turn a into b (Levenshtein 1966).
func editDistance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := diagonal
			if a[i] != b[j] {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
