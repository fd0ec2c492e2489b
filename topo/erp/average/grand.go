package average

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"calotte/layout"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/internal/matrix"
)

// Grand averages participants, each with weight one or, when weighted, with the
// number of its epochs. Its standard error is that over participants:
//
//	SE² = N/(N−1) · Σ wᵢ² (xᵢ−x̄)² / (Σ wᵢ)²
//
// which is sd/√N for equal weights (W. G. Cochran's ratio estimate for the
// error of a weighted mean; D. F. Gatz & L. Smith, Atmos Environ 29:1185, 1995,
// compare it with others; from memory). Members must be different people in one
// condition, with the same sites, times, reference and baseline; sites may
// stand in another order than the first member's.
func Grand(name string, members []*Average, weighted bool) (*Average, error) {
	return grandOf(name, members, weighted, epoch.Mean)
}

// grandOf is the same of a centre other than the mean, whose right minus left
// is the centre of that of the members.
func grandOf(name string, members []*Average, weighted bool, centre epoch.Centre) (*Average, error) {
	if len(members) < 2 {
		return nil, fmt.Errorf("a grand average needs two participants or more, %d given", len(members))
	}
	if err := checkCentre(centre, len(members), weighted); err != nil {
		return nil, err
	}
	if err := checkMembers(members); err != nil {
		return nil, err
	}
	members, err := alike(members)
	if err != nil {
		return nil, err
	}
	weights, err := weightsOf(members, weighted)
	if err != nil {
		return nil, err
	}
	info := shared(members)
	info.Kind, info.Name, info.Weighted = GrandAverage, name, weighted
	for _, m := range members {
		info.Members = append(info.Members, member(m))
	}
	g := &Average{Info: info, Sites: members[0].Sites, Times: members[0].Times}
	over := func(of tables) (mean, sem [][]float64) { return weightedMean(of, weights) }
	if centre != epoch.Mean {
		g.Info.Across = centre.String()
		over = func(of tables) (mean, sem [][]float64) { return centred(of, centre) }
	}
	g.Mean, g.SEM = over(tables{len(members), len(g.Sites), func(k, i int) []float64 { return members[k].Mean[i] }})
	g.Pairs.Names = PairNames(g.Sites)
	if pairs := layout.Pairs(g.Sites); len(pairs) > 0 {
		g.Pairs.Mean, g.Pairs.SEM = over(tables{len(members), len(pairs), func(k, i int) []float64 {
			row := make([]float64, len(g.Times))
			differences([][]float64{row}, members[k].Mean, pairs[i:i+1])
			return row
		}})
	}
	return g, nil
}

// tables are those of several members, one of each, with as many rows. A row is
// made when it is asked for, so that not all need be there at once.
type tables struct {
	members, rows int
	row           func(member, row int) []float64
}

// rowOf is a row of all members.
func (t tables) rowOf(i int) [][]float64 {
	all := make([][]float64, t.members)
	for k := range all {
		all[k] = t.row(k, i)
	}
	return all
}

// checkMembers refuses what would make the participants something else than
// different people in one condition.
func checkMembers(members []*Average) error {
	for i, m := range members {
		if m.Info.Kind == GrandAverage {
			return fmt.Errorf("%q is a grand average already: give the averages of its participants",
				m.Info.Name)
		}
		if first := members[0]; m.Info.Title() != first.Info.Title() {
			return fmt.Errorf("%s and %s are different conditions: give averages of one", label(first),
				label(m))
		}
		if slices.ContainsFunc(members[:i], func(o *Average) bool { return o.Info.Name == m.Info.Name }) {
			return fmt.Errorf("participant %q is there twice in condition %s: average all recordings "+
				"of a person "+
				"together first", m.Info.Name, m.Info.Title())
		}
	}
	return nil
}

// weightsOf returns one a member, or the number of epochs of each.
func weightsOf(members []*Average, weighted bool) ([]float64, error) {
	weights := make([]float64, len(members))
	for i, m := range members {
		weights[i] = 1
		if !weighted {
			continue
		}
		if m.Info.Epochs == nil || m.Info.Epochs.Kept <= 0 {
			return nil, fmt.Errorf("the number of epochs behind %s is not known, or not one "+
				"number: leave the "+
				"weights out", label(m))
		}
		weights[i] = float64(m.Info.Epochs.Kept)
	}
	return weights, nil
}

// weightedMean returns the mean of the tables and its standard error over them.
func weightedMean(of tables, weights []float64) (mean, sem [][]float64) {
	columns := len(of.row(0, 0))
	mean, sem = matrix.New(of.rows, columns), matrix.New(of.rows, columns)
	total := 0.0
	for _, w := range weights {
		total += w
	}
	n := float64(of.members)
	for i := range of.rows {
		rows := of.rowOf(i)
		for j := range columns {
			var sum, squares float64
			for k, row := range rows {
				sum += weights[k] * row[j]
			}
			m := sum / total
			for k, row := range rows {
				d := weights[k] * (row[j] - m)
				squares += d * d
			}
			mean[i][j] = m
			sem[i][j] = math.Sqrt(n/(n-1)*squares) / total
		}
	}
	return mean, sem
}

// member says what a is for a combination. A difference that was not kept in
// files of its own stands for those of its parts.
func member(a *Average) Member {
	m := Member{Name: a.Info.Name, Repaired: a.Info.Repaired, Files: a.Info.Files}
	if len(m.Files) == 0 {
		for _, part := range a.Info.Members {
			m.Files = append(m.Files, part.Files...)
		}
	}
	if a.Info.Epochs != nil {
		m.Epochs = a.Info.Epochs.Kept
	}
	if parts := a.Info.Members; a.Info.Minus != "" && len(parts) == 2 {
		m.Epochs, m.Minus = parts[0].Epochs, parts[1].Epochs
	}
	return m
}

// shared is the information that a combination takes over from its parts.
func shared(as []*Average) Info {
	first := as[0].Info
	info := Info{
		Condition: first.Condition, Minus: first.Minus,
		Reference: first.Reference, Baseline: first.Baseline, Rate: first.Rate, Centre: first.Centre,
	}
	var filters []string
	for _, a := range as {
		info.Synthetic = info.Synthetic || a.Info.Synthetic
		info.Labels = list.AppendNew(info.Labels, a.Info.Labels...)
		info.Repaired = list.AppendNew(info.Repaired, a.Info.Repaired...)
		info.Notes = list.AppendNew(info.Notes, a.Info.Notes...)
		filters = list.AppendNew(filters, a.Info.Filters)
	}
	info.Filters = filters[0]
	if len(filters) > 1 {
		for i := range filters {
			filters[i] = OrNotKnown(filters[i])
		}
		info.Filters = strings.Join(filters, "; or ")
		info.Notes = list.AppendNew(info.Notes, "the parts were filtered differently")
	}
	return info
}
