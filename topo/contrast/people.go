package contrast

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"calotte/layout"
	"calotte/topo/erp/average"
	"calotte/topo/inference"
)

// A SitesError says that people who are compared have other sites.
type SitesError struct {
	Missing []string // "sub-02 lacks P7", each once and sorted
}

func (e *SitesError) Error() string {
	const most = 5
	text := strings.Join(e.Missing[:min(most, len(e.Missing))], "; ")
	if more := len(e.Missing) - most; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return "people have other sites: " + text
}

// commonSites are the sites of all people, in the order of the first; unless
// only some need be common, all have to be.
func commonSites(everyone []*average.Average, some bool) (sites []string, err error) {
	var missing []string
	lacks := func(avg *average.Average, site string) bool {
		if siteRow(avg, site) != nil {
			return false
		}
		missing = append(missing, fmt.Sprintf("%s lacks %s", avg.Info.Name, site))
		return true
	}
	for _, s := range everyone[0].Sites {
		all := true
		for _, avg := range everyone {
			if lacks(avg, s) {
				all = false
			}
		}
		if all {
			sites = append(sites, s)
		}
	}
	for _, avg := range everyone {
		for _, s := range avg.Sites {
			lacks(everyone[0], s)
		}
	}
	if len(missing) > 0 && !some {
		slices.Sort(missing)
		return nil, &SitesError{slices.Compact(missing)}
	}
	if len(sites) == 0 {
		return nil, errors.New("no site is common to all people: bring all onto the same sites first")
	}
	return sites, nil
}

// siteRow is the values of a site, whatever its spelling; nil where there is
// none.
func siteRow(avg *average.Average, site string) []float64 {
	if i := slices.Index(avg.Sites, site); i >= 0 {
		return avg.Mean[i]
	}
	if name, err := layout.Parse(site); err == nil {
		if i, err := layout.Row(avg.Sites, name); err == nil {
			return avg.Mean[i]
		}
	}
	return nil
}

// matched are people who are paired by their labels, or two groups.
type matched struct {
	Paired   bool
	Matching string // in words
	Extent   string // "12 people"
	design   inference.Design
	rows     []func(site string) []float64 // of each person, or pair
}

// match pairs people by their labels, or keeps two groups whose labels all
// differ.
func match(groups [2]Group) (*matched, error) {
	labels := [2]map[string]*average.Average{{}, {}}
	for k, g := range groups {
		for _, avg := range g.People {
			if labels[k][avg.Info.Name] != nil {
				return nil, fmt.Errorf("%s is there twice in %s: give each person once", avg.Info.Name,
					g.Title)
			}
			labels[k][avg.Info.Name] = avg
		}
	}
	var both, alone []string
	for k, g := range groups {
		for _, avg := range g.People {
			switch name := avg.Info.Name; {
			case labels[1-k][name] == nil:
				alone = append(alone, fmt.Sprintf("%s (%s)", name, g.Title))
			case k == 0:
				both = append(both, name)
			}
		}
	}
	switch {
	case len(both) == 0:
		return twoOf(groups)
	case len(alone) > 0:
		return nil, fmt.Errorf("people without a partner in the other condition: %s: leave them out",
			strings.Join(alone, ", "))
	}
	m := &matched{Paired: true, Matching: "matched by label: " + strings.Join(both, ", "),
		Extent: fmt.Sprintf("%d people", len(both))}
	for _, name := range both {
		a, b := labels[0][name], labels[1][name]
		m.rows = append(m.rows, func(site string) []float64 {
			one, two := siteRow(a, site), siteRow(b, site)
			out := make([]float64, len(one))
			for i := range one {
				out[i] = one[i] - two[i]
			}
			return out
		})
	}
	var err error
	m.design, err = inference.Paired(len(both))
	return m, err
}

// twoOf are two groups of people.
func twoOf(groups [2]Group) (*matched, error) {
	n := [2]int{len(groups[0].People), len(groups[1].People)}
	m := &matched{
		Matching: fmt.Sprintf("two groups of %d and %d people", n[0], n[1]),
		Extent:   fmt.Sprintf("%d and %d people", n[0], n[1]),
	}
	for _, g := range groups {
		for _, avg := range g.People {
			m.rows = append(m.rows, func(site string) []float64 { return siteRow(avg, site) })
		}
	}
	var err error
	m.design, err = inference.Groups(n[0], n[1])
	return m, err
}
