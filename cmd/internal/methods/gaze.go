package methods

import (
	"fmt"
	"strings"

	"calotte/topo/contrast"
)

// gaze tells the mean sideways signal of the conditions in each window, over
// people; empty: of none is it known.
func (a Account) gaze() string {
	var sources, conditions, windows []string
	sums, counts := map[[2]string]float64{}, map[[2]string]int{}
	standIn := false
	for _, i := range a.People {
		if i.Gaze == nil || i.Minus != "" {
			continue
		}
		sources, conditions = appendNew(sources, i.Gaze.Source), appendNew(conditions, i.Condition)
		standIn = standIn || i.Gaze.StandIn
		for _, w := range i.Gaze.Windows {
			windows = appendNew(windows, w.Window)
			key := [2]string{w.Window, i.Condition}
			sums[key] += w.Mean
			counts[key]++
		}
	}
	var texts []string
	for _, w := range windows {
		var values []string
		for _, c := range conditions {
			if key := [2]string{w, c}; counts[key] > 0 {
				values = append(values, fmt.Sprintf("%s %s µV", c,
					contrast.Signed(sums[key]/float64(counts[key]))))
			}
		}
		texts = append(texts, fmt.Sprintf("from %s %s", rangeInWords(w), strings.Join(values, ", ")))
	}
	if texts == nil {
		return ""
	}
	caution := ""
	if standIn {
		caution = " (in place of eye channels; the brain is in it as well)"
	}
	return fmt.Sprintf("Looks sideways were told from %s%s: its mean was, over people, %s.",
		strings.Join(sources, " or "), caution, strings.Join(texts, "; "))
}
