package erp

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"calotte/layout"
)

// Grand averages participants, each with weight one or, when weighted, with the
// number of its epochs. Its standard error is that over participants:
//
//	SE² = N/(N−1) · Σ wᵢ² (xᵢ−x̄)² / (Σ wᵢ)²
//
// which is sd/√N for equal weights. Members must be different people in one
// condition, with the same sites, times, reference and baseline.
func Grand(name string, members []*Average, weighted bool) (*Average, error) {
	if len(members) < 2 {
		return nil, fmt.Errorf("a grand average needs two participants or more, %d given", len(members))
	}
	members, err := alike(members)
	if err != nil {
		return nil, err
	}
	weights := make([]float64, len(members))
	info := shared(members)
	info.Kind, info.Name, info.Weighted = GrandAverage, name, weighted
	for i, m := range members {
		if j := slices.IndexFunc(members[:i], func(o *Average) bool { return o.Info.Name == m.Info.Name }); j >= 0 {
			return nil, fmt.Errorf("participant %q is there twice in condition %s: average all recordings of a person together first", m.Info.Name, m.Info.Title())
		}
		if m.Info.Kind == GrandAverage {
			return nil, fmt.Errorf("%q is a grand average already: give the averages of its participants", m.Info.Name)
		}
		weights[i] = 1
		if weighted {
			if m.Info.Epochs == nil || m.Info.Epochs.Kept == 0 {
				return nil, fmt.Errorf("the number of epochs behind %s is not known, so it cannot be its weight", label(m))
			}
			weights[i] = float64(m.Info.Epochs.Kept)
		}
		info.Members = append(info.Members, member(m))
	}
	g := &Average{Info: info, Sites: members[0].Sites, Times: members[0].Times}
	g.Mean, g.SEM = weightedMean(rowsOf(members, func(m *Average) [][]float64 { return m.Mean }), weights)
	pairs := make([]Pairs, len(members))
	for i, m := range members {
		pairs[i] = pairMeans(m.Sites, m.Mean)
	}
	g.Pairs.Names = pairs[0].Names
	if len(g.Pairs.Names) > 0 {
		g.Pairs.Mean, g.Pairs.SEM = weightedMean(rowsOf(pairs, func(p Pairs) [][]float64 { return p.Mean }), weights)
	}
	return g, nil
}

func rowsOf[T any](items []T, rows func(T) [][]float64) [][][]float64 {
	out := make([][][]float64, len(items))
	for i, item := range items {
		out[i] = rows(item)
	}
	return out
}

// weightedMean returns the mean of the tables and its standard error over them.
func weightedMean(tables [][][]float64, weights []float64) (mean, sem [][]float64) {
	rows, columns := len(tables[0]), len(tables[0][0])
	mean, sem = newTable(rows, columns), newTable(rows, columns)
	total := 0.0
	for _, w := range weights {
		total += w
	}
	n := float64(len(tables))
	for i := range rows {
		for j := range columns {
			var sum, squares float64
			for k, t := range tables {
				sum += weights[k] * t[i][j]
			}
			m := sum / total
			for k, t := range tables {
				d := weights[k] * (t[i][j] - m)
				squares += d * d
			}
			mean[i][j] = m
			sem[i][j] = math.Sqrt(n/(n-1)*squares) / total
		}
	}
	return mean, sem
}

// Difference is a minus b within one person; its standard error is
// √(SE_a² + SE_b²). Grand averages are refused: the error of their difference
// needs the participants, whose differences are averaged instead.
func Difference(a, b *Average) (*Average, error) {
	for _, x := range []*Average{a, b} {
		if x.Info.Kind == GrandAverage {
			return nil, fmt.Errorf("%q is a grand average: a difference is taken within each participant first, so give the participants' averages", x.Info.Name)
		}
		if x.Info.Minus != "" {
			return nil, fmt.Errorf("%q, %s, is a difference already", x.Info.Name, x.Info.Title())
		}
	}
	if a.Info.Name != b.Info.Name {
		return nil, fmt.Errorf("%q and %q are different people", a.Info.Name, b.Info.Name)
	}
	both, err := alike([]*Average{a, b})
	if err != nil {
		return nil, err
	}
	b = both[1]
	d := &Average{Info: shared(both), Sites: a.Sites, Times: a.Times}
	d.Info.Condition, d.Info.Minus = a.Info.Condition, b.Info.Condition
	d.Info.Kind, d.Info.Name = a.Info.Kind, a.Info.Name
	d.Info.Members = []Member{member(a), member(b)}
	d.Mean = combineRows(a.Mean, b.Mean, func(x, y float64) float64 { return x - y })
	d.Pairs = pairMeans(d.Sites, d.Mean)
	if a.SEM != nil && b.SEM != nil {
		d.SEM = combineRows(a.SEM, b.SEM, math.Hypot)
	}
	if a.Pairs.SEM != nil && b.Pairs.SEM != nil && slices.Equal(a.Pairs.Names, b.Pairs.Names) {
		d.Pairs.SEM = combineRows(a.Pairs.SEM, b.Pairs.SEM, math.Hypot)
	}
	return d, nil
}

func combineRows(a, b [][]float64, f func(x, y float64) float64) [][]float64 {
	out := newTable(len(a), len(a[0]))
	for i := range a {
		for j := range a[i] {
			out[i][j] = f(a[i][j], b[i][j])
		}
	}
	return out
}

// Differences takes condition minus other within every participant, matched by
// name and in the order of the first list. Participants without a partner are
// an error that lists them.
func Differences(condition, other []*Average) ([]*Average, error) {
	partner := map[string]*Average{}
	for _, b := range other {
		partner[b.Info.Name] = b
	}
	var out []*Average
	var alone []string
	for _, a := range condition {
		b, ok := partner[a.Info.Name]
		if !ok {
			alone = append(alone, fmt.Sprintf("%q has no %s", a.Info.Name, other[0].Info.Title()))
			continue
		}
		delete(partner, a.Info.Name)
		d, err := Difference(a, b)
		if err != nil {
			return nil, err
		}
		out = append(out, d)
	}
	for _, b := range other {
		if _, left := partner[b.Info.Name]; left {
			alone = append(alone, fmt.Sprintf("%q has no %s", b.Info.Name, condition[0].Info.Title()))
		}
	}
	if alone != nil {
		return nil, fmt.Errorf("%s: give both conditions of every participant", strings.Join(alone, ", "))
	}
	return out, nil
}

// alike checks that averages can be combined and returns them with the sites of
// each in the order of the first.
func alike(as []*Average) ([]*Average, error) {
	out := slices.Clone(as)
	first := as[0]
	for i, a := range as[1:] {
		if a.Info.Reference != first.Info.Reference {
			return nil, fmt.Errorf("%s has the reference %q, %s %q: bring them to one reference first",
				label(first), first.Info.Reference, label(a), a.Info.Reference)
		}
		if a.Info.Baseline != first.Info.Baseline {
			return nil, fmt.Errorf("%s has the baseline %q, %s %q: average them with one baseline",
				label(first), first.Info.Baseline, label(a), a.Info.Baseline)
		}
		if err := sameTimes(first, a); err != nil {
			return nil, err
		}
		ordered, err := inOrderOf(first, a)
		if err != nil {
			return nil, err
		}
		out[i+1] = ordered
	}
	return out, nil
}

func label(a *Average) string { return fmt.Sprintf("%q (%s)", a.Info.Name, a.Info.Title()) }

func sameTimes(a, b *Average) error {
	n := len(a.Times)
	// An offset of a hundredth of a sample is rounding, more is another epoch.
	slack := 0.01 / a.Rate()
	if len(b.Times) != n || math.Abs(b.Times[0]-a.Times[0]) > slack || math.Abs(b.Times[n-1]-a.Times[n-1]) > slack {
		return fmt.Errorf("%s has %d samples from %.4g to %.4g s, %s %d from %.4g to %.4g s: average both with one epoch and rate",
			label(a), n, a.Times[0], a.Times[n-1], label(b), len(b.Times), b.Times[0], b.Times[len(b.Times)-1])
	}
	return nil
}

// inOrderOf returns b with its rows in the order of a's sites.
func inOrderOf(a, b *Average) (*Average, error) {
	if slices.Equal(a.Sites, b.Sites) {
		return b, nil
	}
	row := map[string]int{}
	for i, s := range b.Sites {
		row[canonical(s)] = i
	}
	ordered := *b
	ordered.Sites, ordered.Mean, ordered.SEM = a.Sites, nil, nil
	var missing []string
	for _, s := range a.Sites {
		i, ok := row[canonical(s)]
		if !ok {
			missing = append(missing, s)
			continue
		}
		delete(row, canonical(s))
		ordered.Mean = append(ordered.Mean, b.Mean[i])
		if b.SEM != nil {
			ordered.SEM = append(ordered.SEM, b.SEM[i])
		}
	}
	switch {
	case missing != nil:
		return nil, fmt.Errorf("%s lacks %s, which %s has: combine averages of the same sites", label(b), strings.Join(missing, ", "), label(a))
	case len(row) > 0:
		var extra []string
		for _, s := range b.Sites {
			if _, ok := row[canonical(s)]; ok {
				extra = append(extra, s)
			}
		}
		return nil, fmt.Errorf("%s has %s, which %s lacks: combine averages of the same sites", label(b), strings.Join(extra, ", "), label(a))
	}
	if !slices.Equal(pairMeans(a.Sites, a.Mean).Names, b.Pairs.Names) {
		ordered.Pairs = pairMeans(ordered.Sites, ordered.Mean)
	}
	return &ordered, nil
}

// canonical is the site's name in one spelling, or the text itself when no
// system names it.
func canonical(site string) string {
	if n, err := layout.Parse(site); err == nil {
		return string(n)
	}
	return site
}

func member(a *Average) Member {
	m := Member{Name: a.Info.Name, Repaired: a.Info.Repaired, Files: a.Info.Files}
	if a.Info.Epochs != nil {
		m.Epochs = a.Info.Epochs.Kept
	}
	return m
}

// shared is the information that a combination takes over from its parts.
func shared(as []*Average) Info {
	first := as[0].Info
	info := Info{
		Condition: first.Condition, Minus: first.Minus,
		Reference: first.Reference, Baseline: first.Baseline, Filters: first.Filters, Rate: first.Rate,
	}
	for _, a := range as {
		info.Synthetic = info.Synthetic || a.Info.Synthetic
		for _, s := range a.Info.Repaired {
			if !slices.Contains(info.Repaired, s) {
				info.Repaired = append(info.Repaired, s)
			}
		}
	}
	return info
}

// ByCondition sorts averages into conditions, in the order of first appearance.
func ByCondition(as []*Average) (titles []string, groups map[string][]*Average, err error) {
	groups = map[string][]*Average{}
	for _, a := range as {
		t := a.Info.Title()
		if t == "" {
			return nil, nil, errors.New("the condition of " + label(a) + " is not known")
		}
		if groups[t] == nil {
			titles = append(titles, t)
		}
		groups[t] = append(groups[t], a)
	}
	return titles, groups, nil
}
