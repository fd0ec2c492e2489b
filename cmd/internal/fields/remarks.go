package fields

import (
	"fmt"
	"slices"
)

// Remarks are what the reader has to know beside the maps. What does not hold
// for all rows begins with the row's title.
func (f *Fields) Remarks(titles []string) []string {
	texts := []string{f.Windows.Remark("Latencies")}
	if f.Head.Assumed && f.Head.Measured == nil {
		texts = append(texts, fmt.Sprintf("No head was measured: a sphere of %.0f mm is assumed.",
			f.Head.Head.Circumference))
	}
	texts = append(texts, f.remarks...)
	holds := map[string]int{}
	for _, avg := range f.Averages {
		for _, r := range avg.Info.Remarks() {
			holds[r]++
		}
	}
	for i, avg := range f.Averages {
		for _, r := range avg.Info.Remarks() {
			if holds[r] < len(f.Averages) {
				r = titles[i] + ": " + r
			}
			if !slices.Contains(texts, r) {
				texts = append(texts, r)
			}
		}
		if avg.Info.Reference == "" && f.Reference() != "" {
			texts = append(texts, fmt.Sprintf("The reference of %s is not known.", titles[i]))
		}
	}
	return texts
}
