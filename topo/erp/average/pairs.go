package average

import (
	"calotte/layout"
	"calotte/topo/erp/internal/matrix"
)

// Pairs holds right minus left for every mirror pair of the sites.
type Pairs struct {
	Names []string    // "P8-P7"
	Mean  [][]float64 // pair × sample, µV
	SEM   [][]float64 // like Mean; nil when it is not known
}

// PairName is what right minus left of two sites is called, as they are
// written: "P8-P7".
func PairName(sites []string, p layout.Pair) string { return sites[p.Right] + "-" + sites[p.Left] }

// PairNames are those of all mirror pairs of sites.
func PairNames(sites []string) []string {
	var names []string
	for _, p := range layout.Pairs(sites) {
		names = append(names, PairName(sites, p))
	}
	return names
}

// differences fills to with right minus left of the rows of from.
func differences(to, from [][]float64, pairs []layout.Pair) {
	for k, row := range to {
		r, l := from[pairs[k].Right][:len(row)], from[pairs[k].Left][:len(row)]
		for t := range row {
			row[t] = r[t] - l[t]
		}
	}
}

// pairMeans returns right minus left of the means, without errors.
func pairMeans(sites []string, mean [][]float64) Pairs {
	pairs := layout.Pairs(sites)
	if len(pairs) == 0 {
		return Pairs{}
	}
	p := Pairs{Names: PairNames(sites), Mean: matrix.New(len(pairs), len(mean[0]))}
	differences(p.Mean, mean, pairs)
	return p
}
