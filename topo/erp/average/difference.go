package average

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"calotte/topo/erp/internal/matrix"
)

// Difference is a minus b within one person; its standard error is √(SE_a² +
// SE_b²), since the two have no epoch in common. It is not known where either
// of the two is not. Grand averages are refused: the error of their difference
// needs the participants, whose differences are averaged instead.
func Difference(a, b *Average) (*Average, error) {
	for _, x := range []*Average{a, b} {
		if x.Info.Kind == GrandAverage {
			return nil, fmt.Errorf("%q is a grand average: a difference is taken within each "+
				"participant first, so "+
				"give the participants' averages", x.Info.Name)
		}
		if x.Info.Minus != "" {
			return nil, fmt.Errorf("%s is a difference already: give averages of single conditions",
				label(x))
		}
	}
	if a.Info.Name != b.Info.Name {
		return nil, fmt.Errorf("%s and %s are different people: a difference is taken within one", label(a),
			label(b))
	}
	if a.Info.Condition == b.Info.Condition {
		return nil, fmt.Errorf("both averages of %q are of the condition %q: give two conditions", a.Info.Name,
			a.Info.Condition)
	}
	if err := apart(a.Info, b.Info); err != nil {
		return nil, err
	}
	both, err := alike([]*Average{a, b})
	if err != nil {
		return nil, err
	}
	b = both[1]
	d := &Average{Info: shared(both), Sites: a.Sites, Times: a.Times}
	d.Info.Kind, d.Info.Name, d.Info.Minus = a.Info.Kind, a.Info.Name, b.Info.Condition
	d.Info.Labels, d.Info.Gaze = nil, a.Info.Gaze.Minus(b.Info.Gaze)
	for _, x := range both {
		m := member(x)
		m.Condition = x.Info.Condition
		d.Info.Members = append(d.Info.Members, m)
	}
	d.Mean = combineRows(a.Mean, b.Mean, func(x, y float64) float64 { return x - y })
	d.Pairs = differencesOf(d, a, b)
	if a.SEM != nil && b.SEM != nil {
		d.SEM = combineRows(a.SEM, b.SEM, math.Hypot)
	}
	if a.Pairs.SEM != nil && b.Pairs.SEM != nil && slices.Equal(a.Pairs.Names, b.Pairs.Names) {
		d.Pairs.SEM = combineRows(a.Pairs.SEM, b.Pairs.SEM, math.Hypot)
	}
	return d, nil
}

// apart refuses conditions that have epochs in common, whose difference would
// hold them with opposite signs and whose errors are not independent.
func apart(a, b Info) error {
	for _, l := range a.Labels {
		if slices.Contains(b.Labels, l) {
			return fmt.Errorf("the conditions %s and %s of %q share the event %q: subtract conditions "+
				"that have no "+
				"epoch in common", a.Condition, b.Condition, a.Name, l)
		}
	}
	if slices.Contains(a.Shares, b.Condition) || slices.Contains(b.Shares, a.Condition) {
		return fmt.Errorf("the conditions %s and %s of %q share epochs: subtract conditions that have "+
			"none in common",
			a.Condition, b.Condition, a.Name)
	}
	return nil
}

func combineRows(a, b [][]float64, f func(x, y float64) float64) [][]float64 {
	out := matrix.New(len(a), len(a[0]))
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
	if len(condition) == 0 || len(other) == 0 {
		return nil, errors.New("a difference needs averages of two conditions: one has none")
	}
	partner := map[string]*Average{}
	for _, b := range other {
		if partner[b.Info.Name] != nil {
			return nil, twice(b)
		}
		partner[b.Info.Name] = b
	}
	seen := map[string]bool{}
	var out []*Average
	var alone []string
	for _, a := range condition {
		if seen[a.Info.Name] {
			return nil, twice(a)
		}
		seen[a.Info.Name] = true
		b := partner[a.Info.Name]
		if b == nil {
			alone = append(alone, lacks(a, other[0]))
			continue
		}
		d, err := Difference(a, b)
		if err != nil {
			return nil, err
		}
		out = append(out, d)
	}
	for _, b := range other {
		if !seen[b.Info.Name] {
			alone = append(alone, lacks(b, condition[0]))
		}
	}
	if alone != nil {
		return nil, fmt.Errorf("%s: give both conditions of every participant", strings.Join(alone, ", "))
	}
	return out, nil
}

func twice(a *Average) error {
	return fmt.Errorf("%s is there twice: keep one", label(a))
}

func lacks(a, of *Average) string {
	return fmt.Sprintf("%q has no %s", a.Info.Name, of.Info.Title())
}
