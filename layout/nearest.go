package layout

import (
	"fmt"
	"slices"
	"strings"
)

// An UnknownError says that a label is no name of this package.
type UnknownError struct{ Label string }

// Nearest returns up to three known names, equally near; none where nothing is
// near. They are looked for when asked, since many labels are tried whose error
// nobody reads.
func (e *UnknownError) Nearest() []Name {
	if folded := Fold(e.Label); folded != "" {
		return nearest(folded)
	}
	return nil
}

func (e *UnknownError) Error() string {
	if Fold(e.Label) == "" {
		return "empty site name: give one such as Cz"
	}
	var near []string
	for _, n := range e.Nearest() {
		near = append(near, string(n))
	}
	if near == nil {
		return fmt.Sprintf("unknown site %.40q: not a name of the 10-20, 10-10 or 10-5 system", e.Label)
	}
	return fmt.Sprintf("unknown site %.40q: nearest known: %s", e.Label, strings.Join(near, ", "))
}

// Names at a greater edit distance share too little to be what was meant.
const nearDistance = 2

// nearest lists up to three names at the smallest edit distance from a folded
// label. Names that begin with the label's letter come first, then those of the
// coarser system, whose sites are the more common.
func nearest(folded string) []Name {
	best := nearDistance
	var near []Name
	for _, n := range names().ordered {
		known := Fold(string(n))
		if max(len(folded)-len(known), len(known)-len(folded)) > best {
			continue
		}
		d := editDistance(folded, known)
		// A name that shares less than half of the label was hardly
		// meant.
		if d > best || 2*d > max(len(known), len(folded)) {
			continue
		}
		if d < best {
			best, near = d, nil
		}
		near = append(near, n)
	}
	slices.SortStableFunc(near, func(a, b Name) int {
		return otherLetter(folded, a) - otherLetter(folded, b)
	})
	return near[:min(3, len(near))]
}

// otherLetter is 0 for a name that begins with the label's letter, else 1.
func otherLetter(folded string, n Name) int {
	if folded[0] == Fold(string(n))[0] {
		return 0
	}
	return 1
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
