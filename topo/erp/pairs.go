package erp

import "calotte/layout"

// Pairs holds right minus left for every mirror pair of the sites.
type Pairs struct {
	Names []string    // "P8-P7"
	Mean  [][]float64 // pair × sample, µV
	SEM   [][]float64 // like Mean; nil when it is not known
}

// mirrors returns the rows of sites that are right and left of each other, with
// the name of their difference, in the order of the left sites. Sites that no
// system names have no mirror.
func mirrors(sites []string) (names []string, right, left []int) {
	row := map[layout.Name]int{}
	var known []layout.Name
	for i, s := range sites {
		if n, err := layout.Parse(s); err == nil {
			row[n] = i
			known = append(known, n)
		}
	}
	for _, p := range layout.Pairs(known) {
		r, l := row[p.Right], row[p.Left]
		names = append(names, sites[r]+"-"+sites[l])
		right, left = append(right, r), append(left, l)
	}
	return names, right, left
}

// differences fills to with right minus left of the rows of from.
func differences(to, from [][]float64, right, left []int) {
	for k, row := range to {
		r, l := from[right[k]][:len(row)], from[left[k]][:len(row)]
		for t := range row {
			row[t] = r[t] - l[t]
		}
	}
}

// pairMeans returns right minus left of the means, without errors.
func pairMeans(sites []string, mean [][]float64) Pairs {
	names, right, left := mirrors(sites)
	if len(names) == 0 {
		return Pairs{}
	}
	p := Pairs{Names: names, Mean: newTable(len(names), len(mean[0]))}
	differences(p.Mean, mean, right, left)
	return p
}
