package average

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Mended are the kept epochs in which a site alone was repaired, by site.
type Mended map[string]int

// Add adds those of other epochs.
func (m Mended) Add(o Mended) {
	for site, n := range o {
		m[site] += n
	}
}

// Total is the number of repairs.
func (m Mended) Total() int {
	total := 0
	for _, n := range m {
		total += n
	}
	return total
}

// String lists the sites with the most epochs first: "AF3 in 3, T8 in 1".
func (m Mended) String() string {
	sites := slices.SortedFunc(maps.Keys(m), func(a, b string) int {
		if m[a] != m[b] {
			return m[b] - m[a]
		}
		return strings.Compare(a, b)
	})
	var texts []string
	for _, s := range sites {
		texts = append(texts, fmt.Sprintf("%s in %d", s, m[s]))
	}
	return strings.Join(texts, ", ")
}
