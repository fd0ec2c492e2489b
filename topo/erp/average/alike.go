package average

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"calotte/layout"
	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/internal/words"
	"calotte/topo/unit"
)

// alike checks that averages can be combined and returns them with the sites
// and pairs of each in the order and spelling of the first.
func alike(as []*Average) ([]*Average, error) {
	out := slices.Clone(as)
	first := as[0]
	for i, a := range as {
		if a.Info.Reference != first.Info.Reference {
			return nil, fmt.Errorf("%s has the reference %q, %s %q: bring them to one reference first%s",
				label(first), OrNotKnown(first.Info.Reference), label(a), OrNotKnown(a.Info.Reference),
				leftOutAdvice(first, a))
		}
		if a.Info.Baseline != first.Info.Baseline {
			return nil, fmt.Errorf("%s has the baseline %q, %s %q: average them with one baseline",
				label(first), OrNotKnown(first.Info.Baseline), label(a), OrNotKnown(a.Info.Baseline))
		}
		if a.Info.Centre != first.Info.Centre {
			return nil, fmt.Errorf("%s is the %s of its epochs, %s the %s: average both with one centre",
				label(first), CentreWords(CentreOf(first.Info.Centre)), label(a),
				CentreWords(CentreOf(a.Info.Centre)))
		}
		if err := sameTimes(first, a); err != nil {
			return nil, err
		}
		ordered, err := inOrderOf(first, a)
		if err != nil {
			return nil, err
		}
		out[i] = ordered
	}
	return out, nil
}

// leftOutAdvice says what to do where one of two averages lacks electrodes that
// were marked bad.
func leftOutAdvice(averages ...*Average) string {
	for _, a := range averages {
		if len(a.Info.LeftOut) > 0 {
			return fmt.Sprintf("; %s was averaged without %s, marked bad: calotte average --repair bad "+
				"gives it the "+
				"spline's value", label(a), strings.Join(a.Info.LeftOut, ", "))
		}
	}
	return ""
}

// label names an average in an error.
func label(a *Average) string { return fmt.Sprintf("%q (%s)", a.Info.Name, a.Info.Title()) }

func sameTimes(a, b *Average) error {
	n, m := len(a.Times), len(b.Times)
	// An offset of a hundredth of a sample is rounding, more is another
	// epoch.
	slack := 0.01 / a.Rate()
	if m != n || math.Abs(b.Times[0]-a.Times[0]) > slack || math.Abs(b.Times[n-1]-a.Times[n-1]) > slack {
		return fmt.Errorf("%s has %s from %v to %v, %s %d from %v to %v: average both with one epoch and rate",
			label(a), words.Number(n, "sample"), unit.Readable(a.Times[0]), unit.Readable(a.Times[n-1]),
			label(b),
			m,
			unit.Readable(b.Times[0]), unit.Readable(b.Times[m-1]))
	}
	return nil
}

// inOrderOf returns b with its sites and pairs in the order of a's.
func inOrderOf(a, b *Average) (*Average, error) {
	if slices.Equal(a.Sites, b.Sites) {
		return b, nil
	}
	from, extra := match(a.Sites, b.Sites)
	if missing := unmatched(a.Sites, from); missing != nil {
		return nil, fmt.Errorf("%s lacks %s, which %s has: combine averages of the same sites, or "+
			"bring them onto "+
			"common ones first", label(b), strings.Join(missing, ", "), label(a))
	}
	if extra != nil {
		return nil, fmt.Errorf("%s has %s, which %s lacks: combine averages of the same sites, or "+
			"bring them onto "+
			"common ones first", label(b), strings.Join(extra, ", "), label(a))
	}
	ordered := *b
	ordered.Sites, ordered.Mean, ordered.SEM = a.Sites, list.Pick(b.Mean, from), list.Pick(b.SEM, from)
	ordered.Pairs = pairsInOrderOf(a.Sites, b)
	return &ordered, nil
}

// pairsInOrderOf returns b's pairs in the order and spelling of those of sites,
// which are b's in another order.
func pairsInOrderOf(sites []string, b *Average) Pairs {
	if len(b.Pairs.Names) == 0 {
		return Pairs{}
	}
	right := func(sites []string) (names []string) {
		for _, p := range layout.Pairs(sites) {
			names = append(names, sites[p.Right])
		}
		return names
	}
	from, _ := match(right(sites), right(b.Sites))
	return Pairs{PairNames(sites), list.Pick(b.Pairs.Mean, from), list.Pick(b.Pairs.SEM, from)}
}

// match returns, for each site, its index in another list, -1 where it is not
// there, and the sites that only the other list has.
func match(names, other []string) (from []int, extra []string) {
	index := map[string]int{}
	for i, n := range other {
		index[canonical(n)] = i
	}
	for _, n := range names {
		key := canonical(n)
		i, ok := index[key]
		if !ok {
			i = -1
		}
		delete(index, key)
		from = append(from, i)
	}
	for i, n := range other {
		if j, left := index[canonical(n)]; left && i == j {
			extra = append(extra, n)
		}
	}
	return from, extra
}

func unmatched(names []string, from []int) []string {
	var out []string
	for i, n := range names {
		if from[i] < 0 {
			out = append(out, n)
		}
	}
	return out
}

// canonical is the site's name in one spelling, or the text itself when no
// system names it.
func canonical(site string) string {
	if n, err := layout.Parse(site); err == nil {
		return string(n)
	}
	return site
}

// ByCondition sorts averages into conditions, in the order of first appearance.
func ByCondition(as []*Average) (titles []string, groups map[string][]*Average, err error) {
	groups = map[string][]*Average{}
	for _, a := range as {
		t := a.Info.Title()
		if t == "" {
			return nil, nil, errors.New("the condition of " + label(a) +
				" is not known: name it in the file's name, STEM_CONDITION_average.tsv")
		}
		if groups[t] == nil {
			titles = append(titles, t)
		}
		groups[t] = append(groups[t], a)
	}
	return titles, groups, nil
}
