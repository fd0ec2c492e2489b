package contrast

import (
	"fmt"
	"slices"
	"strings"

	"calotte/topo/erp/average"
)

// crossed are samples in the order of two factors, and the people behind them.
type crossed struct {
	groups  [][]Sample  // group × condition
	people  [][]crosser // of each group, those in all of its conditions
	levels  [2][2]string
	leftOut []string // who was, and why
}

// A crosser is a person with an average of each condition.
type crosser struct {
	name     string
	averages []*average.Average
}

// cross lays samples out in the order in which groups and conditions come up.
func (q TwoFactors) cross(samples []Sample) (*crossed, error) {
	var groups, conditions []string
	for i, s := range samples {
		if q.has(ByConditions) && s.Average.Info.Minus != "" {
			return nil, &DifferenceError{i, s.title()}
		}
		groups, conditions = withNew(groups, q.group(s)), withNew(conditions, s.title())
	}
	if len(groups) != q.levels(ByGroups) || len(conditions) != q.levels(ByConditions) ||
		len(samples) != len(groups)*len(conditions) {
		return nil, q.otherSamples(samples)
	}
	out := &crossed{}
	for _, g := range groups {
		var own []Sample
		for _, c := range conditions {
			i := slices.IndexFunc(samples, func(s Sample) bool { return q.group(s) == g && s.title() == c })
			if i < 0 {
				return nil, q.otherSamples(samples)
			}
			own = append(own, samples[i])
		}
		out.groups = append(out.groups, own)
	}
	for k, f := range []Factor{q.First, q.Second} {
		switch f {
		case ByConditions:
			out.levels[k] = [2]string(conditions)
		case ByGroups:
			out.levels[k] = [2]string(groups)
		}
	}
	return out, out.match()
}

// levels is how many levels of a factor there are: one where it is none of the
// two.
func (q TwoFactors) levels(f Factor) int {
	if q.has(f) {
		return 2
	}
	return 1
}

// group is the name of the group that a sample is of, where groups count.
func (q TwoFactors) group(s Sample) string {
	if q.has(ByGroups) {
		return s.Average.Info.Name
	}
	return ""
}

func withNew(list []string, text string) []string {
	if slices.Contains(list, text) {
		return list
	}
	return append(list, text)
}

// A FactorsError says what two factors take, and what there is in its place.
type FactorsError struct {
	Of      TwoFactors
	Problem string
}

func (e *FactorsError) Error() string { return e.Of.String() + " " + e.Problem }

// otherSamples is that of samples.
func (q TwoFactors) otherSamples(samples []Sample) error {
	want := "two grand averages, of two conditions of the same people"
	switch {
	case q.has(ByGroups) && q.has(ByConditions):
		want = "four grand averages, of the same two conditions in two groups of different names"
	case q.has(ByGroups):
		want = "two grand averages, of one condition in two groups of different names"
	}
	var there []string
	for _, s := range samples {
		there = append(there, s.called())
	}
	return &FactorsError{q, fmt.Sprintf("takes %s, and there are %d: %s", want, len(samples),
		strings.Join(there, "; "))}
}

// called names a sample among those of several groups: "known of pilots".
func (s Sample) called() string { return s.title() + " of " + s.Average.Info.Name }

// match finds the people of each group in all of its conditions, by name.
func (c *crossed) match() error {
	first := c.groups[0][0]
	for _, s := range slices.Concat(c.groups...) {
		if !slices.Equal(s.Average.Times, first.Average.Times) {
			return fmt.Errorf("%s and %s have other samples: bring both to one rate and epoch",
				first.called(), s.called())
		}
		if name := twiceIn(s); name != "" {
			return fmt.Errorf("%s is there twice in %s: give each person once", name, s.called())
		}
	}
	if err := c.apart(); err != nil {
		return err
	}
	for _, samples := range c.groups {
		if len(samples) == 2 {
			c.leaveOut(samples[0], samples[1])
			c.leaveOut(samples[1], samples[0])
		}
		own := inAll(samples)
		if len(own) < 2 {
			return fmt.Errorf("people with all cells of %s: %d, expected two or more; left out: %s",
				samples[0].Average.Info.Name, len(own), strings.Join(orNobody(c.leftOut), ", "))
		}
		c.people = append(c.people, own)
	}
	return nil
}

// twiceIn is who is in a sample more than once; empty: nobody.
func twiceIn(s Sample) string {
	seen := map[string]bool{}
	for _, u := range s.Units {
		if seen[u.Info.Name] {
			return u.Info.Name
		}
		seen[u.Info.Name] = true
	}
	return ""
}

// apart refuses groups that share people, in whatever conditions.
func (c *crossed) apart() error {
	if len(c.groups) < 2 {
		return nil
	}
	var shared []string
	for _, s := range c.groups[0] {
		for _, u := range s.Units {
			in := func(other Sample) bool { return personIn(other, u.Info.Name) != nil }
			if slices.ContainsFunc(c.groups[1], in) {
				shared = withNew(shared, u.Info.Name)
			}
		}
	}
	if shared == nil {
		return nil
	}
	return fmt.Errorf("%s and %s share %s: expected groups of different people, with different names",
		c.groups[0][0].Average.Info.Name, c.groups[1][0].Average.Info.Name, strings.Join(shared, ", "))
}

// leaveOut notes the people of a sample who are not in another.
func (c *crossed) leaveOut(s, other Sample) {
	for _, u := range s.Units {
		if personIn(other, u.Info.Name) == nil {
			c.leftOut = append(c.leftOut, fmt.Sprintf("%s (not in %s)", u.Info.Name, other.title()))
		}
	}
}

func orNobody(list []string) []string {
	if list == nil {
		return []string{"nobody"}
	}
	return list
}

// inAll are the people of a group who are in all of its conditions.
func inAll(samples []Sample) []crosser {
	var out []crosser
	for _, u := range samples[0].Units {
		p := crosser{name: u.Info.Name}
		for _, s := range samples {
			if own := personIn(s, p.name); own != nil {
				p.averages = append(p.averages, own)
			}
		}
		if len(p.averages) == len(samples) {
			out = append(out, p)
		}
	}
	return out
}

// personIn is the average of a person in a sample; nil: there is none.
func personIn(s Sample, name string) *average.Average {
	i := slices.IndexFunc(s.Units, func(u *average.Average) bool { return u.Info.Name == name })
	if i < 0 {
		return nil
	}
	return s.Units[i]
}
