package average

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode"

	"calotte/layout/rowtable"
)

// An Unmixed says which independent components were taken out of a person's
// recordings.
type Unmixed struct {
	Components int            `json:"components"`
	Dimensions int            `json:"dimensions"` // of the data before
	Removed    int            `json:"removed"`
	Looks      map[string]int `json:"looks_like,omitempty"` // how many of them, by what they look like
	Suggested  bool           `json:"as_suggested"`         // nobody decided otherwise than the rules
	Filter     string         `json:"filter"`               // of the data in which they were found
}

// String says it in a line.
func (u Unmixed) String() string {
	if u.Removed == 0 {
		return fmt.Sprintf("none of %d independent components", u.Components)
	}
	var looks []string
	for _, look := range slices.Sorted(maps.Keys(u.Looks)) {
		looks = append(looks, fmt.Sprintf("%s %d", look, u.Looks[look]))
	}
	return fmt.Sprintf("%d of %d independent components (%s), which leaves %d dimensions", u.Removed, u.Components,
		strings.Join(looks, ", "), u.Dimensions-u.Removed)
}

// validate refuses what no unmixing gives.
func (u Unmixed) validate() error {
	if u.Removed < 0 || u.Removed > u.Components || u.Components > u.Dimensions {
		return fmt.Errorf("%d of %d independent components in %d dimensions are taken out: expected fewer "+
			"than there are",
			u.Removed, u.Components, u.Dimensions)
	}
	sum := 0
	for look, n := range u.Looks {
		if n < 1 || strings.ContainsFunc(look, unicode.IsControl) || len(look) > longestText {
			return fmt.Errorf("%d components look like %q: expected a number above zero, and a line of text",
				n,
				rowtable.Clip(look))
		}
		sum += n
	}
	if sum != u.Removed {
		return fmt.Errorf("%d components are taken out, and %d look like something: expected as many",
			u.Removed,
			sum)
	}
	return nil
}
