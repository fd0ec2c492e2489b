package average

import (
	"fmt"
	"slices"
	"strings"

	"calotte/topo/erp/epoch"
)

// A Combination is what is to be made of averages: a grand average of each
// condition, or the difference of two.
type Combination struct {
	Name     string       // of the grand averages
	Weighted bool         // participants count by their epochs
	Centre   epoch.Centre // that is taken over participants
	// Minuend and Subtrahend are the conditions of the difference; empty
	// for none.
	Minuend, Subtrahend string
}

// A Combined is the result of a combination and what it was made of, in the
// order in which it was given.
type Combined struct {
	*Average
	Parts []*Average
}

// Of combines averages. Without a difference it makes a grand average of each
// condition. With one it averages the participants' differences, or returns the
// difference itself, under the participant's name, where there is but one.
// Conditions that are not asked for are left aside.
func (c Combination) Of(averages []*Average) ([]Combined, error) {
	if err := distinct(averages); err != nil {
		return nil, err
	}
	titles, groups, err := ByCondition(averages)
	if err != nil {
		return nil, err
	}
	if c.Minuend != "" {
		return c.difference(averages, titles, groups)
	}
	var out []Combined
	for _, t := range titles {
		g, err := grandOf(c.Name, groups[t], c.Weighted, c.Centre)
		if err != nil {
			return nil, fmt.Errorf("condition %s: %w", t, err)
		}
		out = append(out, Combined{g, groups[t]})
	}
	return out, nil
}

func (c Combination) difference(averages []*Average, titles []string,
	groups map[string][]*Average) ([]Combined, error) {
	for _, name := range []string{c.Minuend, c.Subtrahend} {
		if groups[name] == nil {
			return nil, fmt.Errorf("no condition %q among the averages: there is %s", name,
				strings.Join(titles, ", "))
		}
	}
	differences, err := Differences(groups[c.Minuend], groups[c.Subtrahend])
	if err != nil {
		return nil, err
	}
	parts := slices.DeleteFunc(slices.Clone(averages), func(a *Average) bool {
		return a.Info.Title() != c.Minuend && a.Info.Title() != c.Subtrahend
	})
	if len(differences) == 1 {
		return []Combined{{differences[0], parts}}, nil
	}
	g, err := grandOf(c.Name, differences, c.Weighted, c.Centre)
	if err != nil {
		return nil, err
	}
	return []Combined{{g, parts}}, nil
}

// distinct refuses the same table under two names, which would count a
// participant twice in a condition.
func distinct(averages []*Average) error {
	type table struct{ condition, hash string }
	first := map[table]*Average{}
	for _, a := range averages {
		if len(a.Info.Files) == 0 {
			continue
		}
		file := a.Info.Files[0]
		key := table{a.Info.Title(), file.SHA256}
		if o := first[key]; o != nil {
			return fmt.Errorf("%s and %s hold the same table (%s, %s): keep one", label(o), label(a),
				o.Info.Files[0].Name, file.Name)
		}
		first[key] = a
	}
	return nil
}
