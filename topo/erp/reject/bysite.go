package reject

import (
	"slices"

	"calotte/layout"
	"calotte/topo/erp/internal/stat"
)

// foremost are the sites at which blinks are largest.
var foremost = []layout.Name{"Fp1", "Fpz", "Fp2"}

// AtForehead counts the rejected epochs in which one of the foremost sites is
// at fault, as it is when somebody blinks (common practice, no source).
func (r Rejections) AtForehead() int {
	n := 0
	for _, v := range r.Verdicts {
		if slices.ContainsFunc(v.Faults, func(f Fault) bool {
			site, err := layout.Parse(f.Site)
			return err == nil && slices.Contains(foremost, site)
		}) {
			n++
		}
	}
	return n
}

// leastBlink is how far the forehead swings in a blink at least, in µV, and
// blinkOverMost how many times as far as most sites (common practice, no
// source).
const (
	leastBlink    = 100
	blinkOverMost = 2
)

// LikeBlink reports whether an epoch's sites swing as in a blink: one of the
// foremost by more than 100 µV, and by more than twice the median over all
// sites, so that an epoch in which everything is loud is none. Swings are in µV
// from peak to peak, one for each site.
func LikeBlink(sites []layout.Name, swings []float64) bool {
	front := 0.0
	for i, s := range sites {
		if slices.Contains(foremost, s) {
			front = max(front, swings[i])
		}
	}
	centre, _ := stat.Middle(slices.Clone(swings[:len(sites)]))
	return front > leastBlink && front > blinkOverMost*centre
}

// BySite counts, for each site at fault, the epochs of each condition in which
// it breaks a rule, and those that nothing but it rejects. The sites with the
// most come first; of equals the one that comes first in the verdicts.
func (r Rejections) BySite(conditions []string) []SiteTally {
	var out []SiteTally
	for _, site := range r.faulty() {
		t := SiteTally{Site: site, Epochs: make([]int, len(conditions)), Alone: r.Gain(site)}
		for _, v := range r.Verdicts {
			at := func(f Fault) bool { return f.Site == site }
			if !slices.ContainsFunc(v.Faults, at) {
				continue
			}
			t.Total++
			for i, c := range conditions {
				if slices.Contains(v.Conditions, c) {
					t.Epochs[i]++
				}
			}
		}
		out = append(out, t)
	}
	slices.SortStableFunc(out, func(a, b SiteTally) int { return b.Total - a.Total })
	return out
}

// A SiteTally is how often a site was at fault.
type SiteTally struct {
	Site   string
	Epochs []int // by condition
	Total  int   // an epoch of several conditions is one
	Alone  int   // that nothing but this site rejects
}
