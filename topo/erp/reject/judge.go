package reject

import "fmt"

// A Fault is one rule that one site of an epoch breaks.
type Fault struct {
	Site         string
	Reason       string
	Value, Limit float64 // what the rule measured and what it allows
}

// String says it in words: "AF7 peak to peak (212.4, limit 150)".
func (f Fault) String() string {
	return fmt.Sprintf("%s %s (%.4g, limit %.4g)", f.Site, f.Reason, f.Value, f.Limit)
}

// Judge holds an epoch, site × sample, against rules and returns all that it
// breaks, in the order of the sites and of the rules: none means that the epoch
// is kept. Sites for which skip holds true are not asked; nil skips none. That
// all faults are found, not only the first, is what makes the counts of
// [Rejections] exact.
func Judge(rules []Rule, sites []string, samples [][]float64, skip []bool) []Fault {
	var faults []Fault
	for i, row := range samples[:len(sites)] {
		if skip != nil && skip[i] {
			continue
		}
		for _, r := range rules {
			if value, limit, broken := r.Measure(i, row); broken {
				faults = append(faults, Fault{sites[i], r.Reason(), value, limit})
			}
		}
	}
	return faults
}
