package cohort

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// checkConditions refuses other conditions for a person than for all, since the
// group's averages are of everyone. Their events may be others.
func (p *Plan) checkConditions() error {
	all := slices.Sorted(slices.Values(p.conditions()))
	for _, name := range slices.Sorted(maps.Keys(p.people)) {
		own := p.people[name]
		if own.get("condition") == nil || slices.Equal(slices.Sorted(slices.Values(own.conditions())), all) {
			continue
		}
		return fmt.Errorf("%s: people: %s has conditions %s: expected those of average, %s, be it with "+
			"other events",
			p.Path, name, strings.Join(own.conditions(), ", "), strings.Join(p.conditions(), ", "))
	}
	return nil
}
