package cohort

import (
	"slices"

	"github.com/goccy/go-yaml/ast"
)

// Alternatives are a recipe's section of defensible choices: the same
// difference is taken in all ways that they allow.
type Alternatives struct {
	Conditions  []string // the two whose difference it is; nil: the first two
	Of, Windows []string // sites and windows, one or more each
	Average     []Alternative
}

// An Alternative is a flag of average with its values; [LeftAway] is none.
type Alternative struct {
	Flag   string
	Values []string
}

// LeftAway stands for a flag that is not given, where it is no value of it.
const LeftAway = "none"

// Alternatives are those of the recipe; nil: it has none.
func (p *Plan) Alternatives() *Alternatives { return p.alternatives }

func (r *Recipe) readAlternatives(n ast.Node) error {
	mapping, err := r.Mapping(n, "of: P8, window: 150..190ms, average: {reject: [100uV, 150uV]}")
	if err != nil {
		return err
	}
	out := &Alternatives{}
	err = r.Each(mapping, func(key string, at, value ast.Node) error {
		if list, ok := map[string]*[]string{"conditions": &out.Conditions, "of": &out.Of,
			"window": &out.Windows}[key]; ok {
			*list, err = r.Values(value)
			return err
		}
		if key != "average" {
			return r.UnknownKey(at, key, []string{"conditions", "of", "window", "average"})
		}
		flags, err := r.Mapping(value, "flags of calotte average, each with a list of values")
		if err != nil {
			return err
		}
		return r.Each(flags, func(flag string, at, value ast.Node) error {
			a, err := r.alternative(flag, at, value)
			out.Average = append(out.Average, a)
			return err
		})
	})
	switch {
	case err != nil:
		return err
	case len(out.Of) == 0 || len(out.Windows) == 0:
		return r.Fault(n, "of or window is missing: expected sites and windows, such as of: P8, window: 150..190ms")
	}
	r.alternatives = out
	return nil
}

// alternative tries every value on the verb.
func (r *Recipe) alternative(flag string, at, value ast.Node) (Alternative, error) {
	a := Alternative{Flag: flag}
	without := append(slices.Clone(notInAverage), "condition")
	if known := recipeFlags(r.verbs.Fresh("average"), without); !slices.Contains(known, flag) {
		return a, r.UnknownKey(at, flag, known)
	}
	var err error
	if a.Values, err = r.Values(value); err != nil {
		return a, err
	}
	for _, v := range a.Values {
		err := r.Set(r.verbs.Fresh("average"), flag, value, []string{v})
		if err != nil && v != LeftAway {
			return a, err
		}
	}
	return a, nil
}

// AveragingAs is the command line that averages a person into a folder, with a
// value for each of the alternatives' flags. What the recipe says of a person
// alone counts more.
func (p *Plan) AveragingAs(x Participant, dir string, values []string) []string {
	recipe := *p.Recipe
	recipe.average = slices.Clone(p.average)
	for k, a := range p.alternatives.Average {
		recipe.average = slices.DeleteFunc(recipe.average, func(s setting) bool { return s.key == a.Flag })
		flag := p.verbs.Fresh("average").Flags()
		if values[k] == LeftAway && flag.Set(a.Flag, values[k]) != nil {
			continue
		}
		recipe.average = append(recipe.average, setting{key: a.Flag, values: []string{values[k]}})
	}
	as := &Plan{Recipe: &recipe, Dir: p.Dir, People: p.People}
	args := as.OfPerson(x)[0].Args
	return append(args[:len(args)-1:len(args)-1], "--output="+dir)
}
