package methods

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"calotte/topo/erp/average"
)

// unmixed says which independent components were taken out, empty where none
// was looked for.
func (a Account) unmixed() string {
	var people []*average.Unmixed
	var components, removed []int
	looks := map[string]int{}
	seen := map[string]bool{}
	suggested := true
	for _, i := range a.People {
		if i.Unmixed == nil || seen[i.Name] {
			continue
		}
		seen[i.Name] = true
		people = append(people, i.Unmixed)
		components, removed = append(components, i.Unmixed.Components), append(removed, i.Unmixed.Removed)
		suggested = suggested && i.Unmixed.Suggested
		for look, n := range i.Unmixed.Looks {
			looks[look] += n
		}
	}
	if people == nil {
		return ""
	}
	of := ""
	if len(people) > 1 {
		of = fmt.Sprintf(" a person, of %d people", len(people))
	}
	var kinds []string
	for _, look := range slices.Sorted(maps.Keys(looks)) {
		kinds = append(kinds, fmt.Sprintf("%s %d", look, looks[look]))
	}
	list := ""
	if kinds != nil {
		list = " (" + strings.Join(kinds, ", ") + ")"
	}
	chosen := "The choice was that of stated rules on their correlation with the eyes, spectra, rhythm and maps."
	if !suggested {
		chosen = "The choice was made by hand, from their maps, courses, spectra and largest pieces [by " +
			"whom, and whether " +
			"blind to the conditions]."
	}
	return fmt.Sprintf("Independent components were found by the largest likelihood under peaked or flat densities "+
		"(Lee, Girolami & Sejnowski 1999; Ablin, Cardoso & Gramfort 2018) in the recording as "+
		"follows: %s. Taken "+
		"out: %s of %s components%s%s. %s", strings.TrimSuffix(people[0].Filter, "."), fromTo(removed),
		fromTo(components), of, list, chosen)
}

// fromTo is the extent of some numbers.
func fromTo(numbers []int) string {
	least, most := slices.Min(numbers), slices.Max(numbers)
	if least == most {
		return fmt.Sprint(most)
	}
	return fmt.Sprintf("%d to %d", least, most)
}

// eyesOf is how movements of the eyes were handled, empty where nobody did.
func eyesOf(i average.Info) string {
	if i.Unmixed != nil && i.Blinks == "" {
		return i.Unmixed.String()
	}
	return i.Blinks
}
