package cohort

import (
	"cmp"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/dialect"
)

// A Recipe is a whole study in one file: what is recorded, how it is averaged,
// and what is made of it. Its sections hold the flags of the verbs that do the
// work, as a spec does.
type Recipe struct {
	dialect.File
	verbs                              Verbs
	Name, results                      string
	recordings                         []string
	participants, sessions, tasks, run []string
	head, windows, declared            string
	lines                              map[string]int // of these three

	average     section
	people      map[string]section // what of average is different for a person
	combine     section
	differences []string
	items       []item

	alternatives *Alternatives // nil: there is no such section
}

// An item is a file that is made of the group's averages.
type item struct {
	verb, name string
	inputs     []string
	section
}

// id names the item's task.
func (it item) id() string { return it.verb + " " + it.name }

// Sections of a recipe whose items are files, in the order in which they are
// made: tests before figures, which may mark what they found.
var itemSections = []struct {
	key, verb string // an item names its own verb where verb is empty
}{
	{"components", "components"},
	{"values", "values"},
	{"asymmetry", "asymmetry"},
	{"compare", "compare"},
	{"figures", ""},
	{"explore", "explore"},
}

// Verbs are the commands that do the work.
type Verbs struct {
	// Fresh makes the command of a verb, on which nothing was set yet.
	Fresh func(name string) *cobra.Command
	// HeadFlags are flags by which a verb is told the measures of a head.
	HeadFlags []string
}

// endings are those of the files that a verb writes; none is a folder's.
var endings = map[string][]string{
	"components": {".tsv"},
	"values":     {".tsv", ".json"},
	"asymmetry":  {".tsv", ".png", ".svg", ".pdf", ".tiff"},
	"compare":    {".tsv", ".png", ".svg", ".pdf", ".tiff"},
	"map":        {".png", ".svg", ".pdf", ".tiff"},
	"traces":     {".png", ".svg", ".pdf", ".tiff"},
	"frames":     {".gif", ".apng", ""},
	"explore":    {".html"},
}

// longestName of an item leaves room for the verb and the endings of files that
// are made with it: most systems take names of 255 bytes.
const longestName = 200

// figureVerbs are those that an item of figures may name.
var figureVerbs = []string{"map", "traces", "frames"}

// Read reads a recipe and checks every key and value of it.
func Read(path string, verbs Verbs) (*Recipe, error) {
	r := &Recipe{verbs: verbs, File: dialect.File{Path: path, Most: dialect.LargestRecipe},
		people: map[string]section{}, lines: map[string]int{}}
	_, mapping, err := r.Read("recordings: FOLDER, average: with condition:, and more (calotte cohort init FOLDER " +
		"writes one)")
	if err != nil {
		return nil, err
	}
	items := map[string][]item{}
	err = r.Each(mapping, func(key string, at, value ast.Node) error {
		if list, ok := map[string]*[]string{
			"recordings": &r.recordings, "participants": &r.participants, "session": &r.sessions,
			"task": &r.tasks, "run": &r.run, "differences": &r.differences,
		}[key]; ok {
			*list, err = r.Values(value)
			return err
		}
		if text, ok := map[string]*string{"name": &r.Name, "results": &r.results, "head": &r.head,
			"windows": &r.windows, "declared": &r.declared}[key]; ok {
			r.lines[key] = at.GetToken().Position.Line
			*text, err = r.Scalar(value)
			return err
		}
		switch key {
		case "average":
			r.average, err = r.section(r.verbs.Fresh("average"), value, notInAverage)
			return err
		case "combine":
			r.combine, err = r.section(r.verbs.Fresh("combine"), value, notInCombine)
			return err
		case "people":
			return r.readPeople(value)
		case "alternatives":
			return r.readAlternatives(value)
		}
		for _, s := range itemSections {
			if s.key == key {
				items[key], err = r.readItems(s.verb, value)
				return err
			}
		}
		return r.UnknownKey(at, key, Keys())
	})
	if err != nil {
		return nil, err
	}
	for _, s := range itemSections {
		r.items = append(r.items, items[s.key]...)
	}
	return r, r.complete()
}

// notInAverage are flags of average that the study itself gives.
var notInAverage = []string{"output", "name", "participant", "session", "task", "run", "each", "events", "declared"}

// notInCombine likewise of combine.
var notInCombine = []string{"output", "name", "difference"}

// Keys are those of a recipe.
func Keys() []string {
	keys := []string{"name", "recordings", "participants", "session", "task", "run", "results", "head", "windows",
		"declared", "average", "people", "combine", "differences", "alternatives"}
	for _, s := range itemSections {
		keys = append(keys, s.key)
	}
	return keys
}

// complete finds what is missing or twice, and fills in what goes without
// saying.
func (r *Recipe) complete() error {
	r.Name, r.results = cmp.Or(r.Name, "group"), cmp.Or(r.results, "results")
	switch {
	case r.recordings == nil:
		return fmt.Errorf("%s: recordings is missing: expected a BIDS folder, or recordings", r.Path)
	case len(r.conditions()) == 0:
		return fmt.Errorf("%s: average has no condition: expected condition: [NAME=EVENTS]", r.Path)
	}
	if err := archive.CheckStem(r.Name); err != nil {
		return fmt.Errorf("%s: name: %w", r.Path, err)
	}
	if n, k := len(r.differences), len(r.conditions()); n*k > mostSubtracted {
		return fmt.Errorf("%s: %d differences of %d conditions: expected at most %d", r.Path, n, k,
			mostSubtracted/k)
	}
	for _, name := range r.conditions() {
		if err := CheckCondition(name); err != nil {
			return fmt.Errorf("%s: %w", r.Path, err)
		}
	}
	if err := r.checkFiles(); err != nil {
		return err
	}
	for _, d := range r.differences {
		a, b, ok := strings.Cut(d, ",")
		if !ok || !slices.Contains(r.conditions(), a) || !slices.Contains(r.conditions(), b) || a == b {
			return fmt.Errorf("%s: differences %q: expected two of the conditions, such as %q", r.Path, d,
				strings.Join(r.conditions()[:min(2, len(r.conditions()))], ","))
		}
	}
	if err := r.checkOutputs(); err != nil {
		return err
	}
	for _, it := range r.items {
		for _, in := range it.inputs {
			if in != everyPerson && !slices.Contains(r.slugs(), in) {
				return fmt.Errorf("%s: %s: inputs hold %q: expected of %s, or %s", r.Path, it.name, in,
					strings.Join(r.slugs(), ", "), everyPerson)
			}
		}
	}
	return nil
}

// checkOutputs refuses items that make files of one name, letter case aside
// since file systems may ignore it. A table comes with others beside it.
func (r *Recipe) checkOutputs() error {
	by := map[string]string{}
	for _, it := range r.items {
		for _, out := range outputsOf(folderOf(it), it.name) {
			key := strings.ToLower(out)
			if other, taken := by[key]; taken {
				return fmt.Errorf("%s: %s would be two files, of %s and of %s: give each item a "+
					"name of its own",
					r.Path, filepath.Base(out), other, it.name)
			}
			by[key] = it.name
		}
	}
	return nil
}

// checkFiles finds files that the recipe names and that are not there. Those in
// the results may come into being.
func (r *Recipe) checkFiles() error {
	for _, s := range r.settings() {
		for _, name := range s.values {
			_, path := r.Place(s.key, name)
			made := strings.HasPrefix(path, r.SeenFrom(r.results)+string(filepath.Separator))
			if path != "" && !made && !exists(path) {
				return fmt.Errorf("%s, line %d: %s: there is no file %s: names are as seen "+
					"from the recipe",
					r.Path,
					s.line, s.key, name)
			}
		}
	}
	return nil
}

// named are the files that the recipe names, beside recordings.
func (r *Recipe) named() []string {
	_, files := r.args(r.settings())
	return files
}

// settings are those of all sections.
func (r *Recipe) settings() section {
	all := section{}
	for key, name := range map[string]string{"head": r.head, "windows": r.windows, "declared": r.declared} {
		if name != "" {
			all = append(all, setting{key, []string{name}, r.lines[key]})
		}
	}
	all = append(append(all, r.average...), r.combine...)
	for _, name := range slices.Sorted(maps.Keys(r.people)) {
		all = append(all, r.people[name]...)
	}
	for _, it := range r.items {
		all = append(all, it.section...)
	}
	return all
}

// Every difference is made of the averages of all conditions, so their product
// is what takes time: a study of 20 conditions has 190 differences.
const (
	mostConditions = 200
	mostSubtracted = 10_000
)

// everyPerson stands for the averages of all people among the inputs of an
// item.
const everyPerson = "people"

// CheckCondition refuses the name of a condition that stands for something else
// in a recipe.
func CheckCondition(name string) error {
	if strings.EqualFold(name, everyPerson) {
		return fmt.Errorf("condition %s: inputs: %s are the averages of all people: choose another name", name,
			everyPerson)
	}
	return nil
}

// conditions are the names of the averages' conditions.
func (r *Recipe) conditions() []string { return r.average.conditions() }

// slugs are the group's averages: the conditions and the differences.
func (r *Recipe) slugs() []string {
	list := r.conditions()
	for _, d := range r.differences {
		list = append(list, strings.Replace(d, ",", "-", 1))
	}
	return list
}

// personName is a participant as folders name one.
func personName(label string) string {
	return "sub-" + strings.TrimPrefix(label, "sub-")
}
