// Package declared says of a test whether it was declared before the averages
// were made.
//
// Tests are declared in a file with the section compare: of a recipe, or in a
// recipe itself. Averages that are made with --declared carry the file's
// SHA-256, and a test is declared if the file asks for it and every person's
// average carries that. Whether the file was changed, and all averages made
// anew, after somebody had looked, only a copy that is kept elsewhere can tell:
// the SHA-256 that is told is there to be compared with it.
package declared

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/dialect"
	"calotte/topo/erp/average"
	"calotte/topo/provenance"
)

// decide are the flags of compare that make one test another: the rest is of
// the figure, or of how exactly p is counted.
var decide = []string{"during", "correct", "level", "shared", "reference"}

// A File is declared tests, as the flag --declared names them.
type File struct {
	Path   string
	source provenance.Source
	tests  []test
}

// A test is what it compares, and the settings that decide, as their flags
// spell them.
type test struct {
	inputs   []string
	settings map[string]string
}

// Register adds the flag.
func (f *File) Register(c *cobra.Command, usage string) {
	c.Flags().StringVar(&f.Path, "declared", "", usage)
}

// example is the shortest file.
const example = "compare: {inputs: [known, novel], during: 100..250ms}"

// Read loads the file, if one is given. Fresh makes a command of compare, on
// which the settings of a test are tried.
func (f *File) Read(fresh func() *cobra.Command) error {
	if f.Path == "" {
		return nil
	}
	file := dialect.File{Path: f.Path, Most: dialect.LargestRecipe}
	text, mapping, err := file.Read(example)
	if err != nil {
		return err
	}
	f.source = archive.Source(f.Path, text)
	err = file.Each(mapping, func(key string, _, value ast.Node) error {
		if key != "compare" { // the rest of a recipe
			return nil
		}
		nodes := []ast.Node{value}
		if list, ok := value.(*ast.SequenceNode); ok {
			nodes = list.Values
		}
		for _, node := range nodes {
			t, err := readTest(file, node, fresh())
			if err != nil {
				return err
			}
			f.tests = append(f.tests, t)
		}
		return nil
	})
	if err == nil && f.tests == nil {
		err = fmt.Errorf("%s declares no test: expected a section such as %s", f.Path, example)
	}
	return err
}

func readTest(file dialect.File, n ast.Node, c *cobra.Command) (test, error) {
	var t test
	mapping, err := file.Mapping(n, example)
	if err != nil {
		return t, err
	}
	err = file.Each(mapping, func(key string, at, value ast.Node) error {
		switch known := dialect.Keys(c); {
		case key == "name":
			return nil
		case key == "inputs":
			t.inputs, err = file.Values(value)
			return err
		case !slices.Contains(known, key):
			return file.UnknownKey(at, key, append(known, "name", "inputs"))
		}
		values, err := file.Values(value)
		if err != nil {
			return err
		}
		return file.Set(c, key, value, values)
	})
	if err == nil && len(t.inputs) != 2 {
		err = file.Fault(n, "inputs are %d: expected the two that are compared, such as [known, novel]",
			len(t.inputs))
	}
	t.settings = settings(c)
	return t, err
}

func settings(c *cobra.Command) map[string]string {
	out := map[string]string{}
	for _, key := range decide {
		out[key] = c.Flags().Lookup(key).Value.String()
	}
	return out
}

// Of says whether the test that a command line of compare asks for was
// declared: of two conditions or groups, by their titles, in people.
func (f *File) Of(c *cobra.Command, titles [2]string, people []*average.Average) string {
	if f.Path == "" {
		return "The test was not declared before the averages were made."
	}
	name := fmt.Sprintf("%s (SHA-256 %s…)", filepath.Base(f.Path), f.source.SHA256[:12])
	if !slices.ContainsFunc(f.tests, func(t test) bool { return t.is(settings(c), titles) }) {
		return fmt.Sprintf("The test is none of those declared in %s.", name)
	}
	without := 0
	for _, p := range people {
		if !slices.ContainsFunc(p.Info.Provenance.Inputs,
			func(s provenance.Source) bool { return s.SHA256 == f.source.SHA256 }) {
			without++
		}
	}
	if without > 0 {
		return fmt.Sprintf("The test stands in %s, but %d of %s of people were made without that file.", name,
			without, console.Plural(len(people), "average", "averages"))
	}
	return fmt.Sprintf("The test was declared in %s before the averages were made.", name)
}

// is reports whether the test is that of settings and two titles, in either
// order. A difference is named by its slug.
func (t test) is(settings map[string]string, titles [2]string) bool {
	for key, value := range t.settings {
		if settings[key] != value {
			return false
		}
	}
	var slugs []string
	for _, title := range titles {
		slugs = append(slugs, strings.ReplaceAll(title, " minus ", "-"))
	}
	return slices.Contains(t.inputs, slugs[0]) && slices.Contains(t.inputs, slugs[1])
}

// Paths and Sources are the file, where there is one.
func (f *File) Paths() []string {
	if f.Path == "" {
		return nil
	}
	return []string{f.Path}
}

// Sources and Paths are the file, where there is one.
func (f *File) Sources() []provenance.Source {
	if f.Path == "" {
		return nil
	}
	return []provenance.Source{f.source}
}
