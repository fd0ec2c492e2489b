// Package dialect reads files that hold what a command line would: a mapping
// whose keys are the flags of a verb, with the values that the flags take.
// Specs of figures and recipes of studies share it.
//
// # Decisions
//
// A spec is the flags of its verb, and so is a section of a recipe: the same
// names, values and errors, with the line of the file. The JSON Schema is made
// from the flags, so it cannot grow stale.
package dialect

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/topo/smallyaml"
)

// What a file of each kind holds at most, in bytes.
const (
	LargestSpec   = 64 << 10
	LargestRecipe = 1 << 20
)

// A File is a mapping that someone wrote: a spec, or a recipe. Names of files
// in it are as seen from its folder.
type File struct {
	Path string
	Most int // bytes
}

// Read returns the text and its one mapping; example says what is expected in
// an empty file.
func (f File) Read(example string) (text []byte, mapping ast.MapNode, err error) {
	if text, err = disk.ReadFile(f.Path); err != nil {
		return nil, nil, err
	}
	body, err := smallyaml.Parse(text, f.Most)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", f.Path, err)
	}
	if body == nil {
		return nil, nil, fmt.Errorf("%s is empty: expected %s", f.Path, example)
	}
	mapping, err = f.Mapping(body, example)
	return text, mapping, err
}

func (f File) Mapping(n ast.Node, example string) (ast.MapNode, error) {
	mapping, ok := n.(ast.MapNode)
	if !ok {
		return nil, f.Fault(n, "expected keys with values, such as %s", example)
	}
	return mapping, nil
}

// Each calls work for every key, none of which may stand there twice.
func (f File) Each(mapping ast.MapNode, work func(key string, at, value ast.Node) error) error {
	seen := map[string]bool{}
	for it := mapping.MapRange(); it.Next(); {
		key := it.Key().String()
		if quoted, ok := it.Key().(*ast.StringNode); ok {
			key = quoted.Value
		}
		if seen[key] {
			return f.Fault(it.Key(), "%q stands there twice", key)
		}
		seen[key] = true
		if err := work(key, it.Key(), it.Value()); err != nil {
			return err
		}
	}
	return nil
}

// Fault is an error about a line of the file.
func (f File) Fault(n ast.Node, format string, a ...any) error {
	return fmt.Errorf("%s, line %d: %s", f.Path, n.GetToken().Position.Line, fmt.Sprintf(format, a...))
}

// UnknownKey is an error about a key that is none of a list.
func (f File) UnknownKey(at ast.Node, key string, list []string) error {
	if near := console.Nearest(key, list); near != "" {
		return f.Fault(at, "there is no key %q: did you mean %s?", key, near)
	}
	return f.Fault(at, "there is no key %q: expected one of %s", key, strings.Join(list, ", "))
}

// SeenFrom is a file's name as seen from the folder of the file.
func (f File) SeenFrom(name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(filepath.Dir(f.Path), name)
}

// Place is a value of a key as a flag is given it: the name of a file as seen
// from this one, which may stand behind NAME=. File is that name alone, empty
// where the key names none.
func (f File) Place(key, value string) (placed, file string) {
	if key == sitesFlag {
		return f.placeSites(value)
	}
	if !slices.Contains(FileFlags, key) {
		return value, ""
	}
	prefix, file := FileIn(key, value)
	file = f.SeenFrom(file)
	return prefix + file, file
}

// sitesFlag takes names, or a file of them.
const sitesFlag = "sites"

// placeSites is a value of the sites as a flag is given it: a file where one
// lies there that has an ending, as no name of an electrode has.
func (f File) placeSites(value string) (placed, file string) {
	if len(filepath.Ext(value)) < 2 {
		return value, ""
	}
	file = f.SeenFrom(value)
	if info, err := os.Stat(file); err != nil || !info.Mode().IsRegular() {
		return value, ""
	}
	return file, file
}

// Values are the texts of a scalar, or of a list of scalars.
func (f File) Values(n ast.Node) ([]string, error) {
	list, ok := n.(*ast.SequenceNode)
	if !ok {
		text, err := f.Scalar(n)
		return []string{text}, err
	}
	var out []string
	for _, item := range list.Values {
		text, err := f.Scalar(item)
		if err != nil {
			return nil, err
		}
		out = append(out, text)
	}
	if out == nil {
		return nil, f.Fault(n, "an empty list: leave the key out")
	}
	return out, nil
}

func (f File) Scalar(n ast.Node) (string, error) {
	switch v := n.(type) {
	case *ast.StringNode:
		return v.Value, nil
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode:
		return n.GetToken().Value, nil
	}
	return "", f.Fault(n, "expected a text, a number, true or false, or a list of them")
}

// Set gives a verb's flag the values of a key; names of files are as seen from
// the file.
func (f File) Set(c *cobra.Command, key string, n ast.Node, values []string) error {
	for _, v := range Given(c.Flags().Lookup(key), values) {
		v, _ = f.Place(key, v)
		if err := c.Flags().Set(key, v); err != nil {
			reason := err.Error()
			if i := strings.Index(reason, "flag: "); i >= 0 {
				reason = reason[i+len("flag: "):]
			}
			return f.Fault(n, "%s: %s", key, console.PlainReason(reason))
		}
	}
	return nil
}
