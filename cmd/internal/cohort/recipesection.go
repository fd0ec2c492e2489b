package cohort

import (
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/spf13/cobra"

	"calotte/cmd/internal/dialect"
)

// section reads settings of a verb. They are tried on it, so that a wrong one
// is told with its line; the verb must be a fresh one.
func (r *Recipe) section(c *cobra.Command, n ast.Node, without []string) (section, error) {
	mapping, err := r.Mapping(n, "keys that are flags of calotte "+c.Name())
	if err != nil {
		return nil, err
	}
	var out section
	err = r.Each(mapping, func(key string, at, value ast.Node) error {
		s, err := r.setting(c, key, at, value, without)
		out = append(out, s)
		return err
	})
	return out, err
}

func (r *Recipe) setting(c *cobra.Command, key string, at, value ast.Node, without []string) (setting, error) {
	if !slices.Contains(recipeFlags(c, without), key) {
		return setting{}, r.UnknownKey(at, key, recipeFlags(c, without))
	}
	values, err := r.Values(value)
	if err != nil {
		return setting{}, err
	}
	if key == "condition" && len(values) > mostConditions {
		return setting{}, r.Fault(value, "%d conditions: expected at most %d", len(values), mostConditions)
	}
	given := dialect.Given(c.Flags().Lookup(key), values)
	return setting{key, given, at.GetToken().Position.Line}, r.Set(c, key, value, given)
}

func (r *Recipe) readPeople(n ast.Node) error {
	mapping, err := r.Mapping(n, "sub-05: {repair: F6}")
	if err != nil {
		return err
	}
	return r.Each(mapping, func(key string, at, value ast.Node) error {
		name := personName(key)
		if _, twice := r.people[name]; twice {
			return r.Fault(at, "%s has settings above: put all of them there", name)
		}
		r.people[name], err = r.section(r.verbs.Fresh("average"), value, notInAverage)
		return err
	})
}

// readItems reads one item, or a list of them.
func (r *Recipe) readItems(name string, n ast.Node) ([]item, error) {
	nodes := []ast.Node{n}
	if list, ok := n.(*ast.SequenceNode); ok {
		nodes = list.Values
	}
	var items []item
	for _, node := range nodes {
		it, err := r.readItem(name, node)
		if err != nil {
			return nil, err
		}
		items = append(items, it)
	}
	return items, nil
}

func (r *Recipe) readItem(name string, n ast.Node) (item, error) {
	it := item{verb: name}
	mapping, err := r.Mapping(n, "name: FILE, inputs: [known, novel], and flags as keys")
	if err != nil {
		return it, err
	}
	if name == "" {
		err = r.Each(mapping, func(key string, at, value ast.Node) error {
			if key == "figure" {
				it.verb, err = r.Scalar(value)
			}
			return err
		})
		if err != nil {
			return it, err
		}
		if !slices.Contains(figureVerbs, it.verb) {
			return it, r.Fault(n, "figure is %q: expected %s", it.verb, strings.Join(figureVerbs, ", "))
		}
	}
	c := r.verbs.Fresh(it.verb)
	err = r.Each(mapping, func(key string, at, value ast.Node) error {
		switch key {
		case "figure":
			if name != "" {
				return r.Fault(at, "figure is for figures: these are of %s", name)
			}
			return nil
		case "name":
			if it.name, err = r.Scalar(value); err != nil {
				return err
			}
			if fault := it.faultOfName(); fault != "" {
				return r.Fault(value, "name %q %s", it.name, fault)
			}
			return nil
		case "inputs":
			it.inputs, err = r.Values(value)
			return err
		}
		s, err := r.setting(c, key, at, value, nil)
		it.section = append(it.section, s)
		return err
	})
	if err == nil && it.name == "" {
		err = r.Fault(n, "it has no name: add name: FILE for what is written")
	}
	return it, err
}

// faultOfName is what is wrong with the name of an item's file; empty: nothing.
func (it item) faultOfName() string {
	switch {
	case it.name == "" || filepath.Base(it.name) != it.name || strings.ContainsAny(it.name[:1], ".-"):
		return "is not that of a file: expected one without a folder, and no dot or hyphen first"
	case strings.ContainsFunc(it.name, func(c rune) bool { return !strconv.IsGraphic(c) }):
		return "holds a character that cannot be seen: leave it out"
	case len(it.name) > longestName:
		return fmt.Sprintf("has %d bytes: expected at most %d", len(it.name), longestName)
	case !slices.Contains(endings[it.verb], filepath.Ext(it.name)):
		return fmt.Sprintf("does not fit: calotte %s writes files that end in %s", it.verb,
			strings.TrimSuffix(strings.Join(endings[it.verb], ", "), ", "))
	case strings.EqualFold(it.name, IndexPage):
		return "is that of the index of all results: choose another, such as study.html"
	}
	return ""
}
