package figure

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/dialect"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/places"
	"calotte/cmd/internal/session"
	"calotte/topo/provenance"
)

// A Spec is a file that holds what would be a long command line, in one dialect
// for all verbs: a mapping whose keys are the verb's own flags, with the values
// that the flags take, beside figure (the verb) and inputs. What stands on the
// command line as well counts more. Names of files are as seen from the folder
// of the spec.
type Spec struct {
	path   string
	Schema bool
	inputs []string
	source provenance.Source
	read   bool
	places *places.Set // in which what it names is found; nil: as seen from the spec
}

// Register adds the flags.
func (s *Spec) Register(a *session.Session, c *cobra.Command) {
	s.places = a.Places
	flags := c.Flags()
	flags.StringVar(&s.path, "spec", "",
		"`FILE`.yaml with figure: "+c.Name()+", inputs, and flags of this verb as keys")
	flags.BoolVar(&s.Schema, "spec-schema", false, "print the JSON Schema of --spec, and stop")
}

// Args carries out the spec before the arguments are counted.
func (s *Spec) Args(next cobra.PositionalArgs) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if s.Schema {
			return nil
		}
		if s.path != "" && !s.read {
			if err := s.load(c); err != nil {
				return err
			}
			s.read = true
		}
		return next(c, s.All(args))
	}
}

// All are the inputs of the spec and of the command line.
func (s *Spec) All(args []string) []string { return slices.Concat(s.inputs, args) }

// Sources and Paths are the file, where there is one.
func (s *Spec) Sources() []provenance.Source {
	if s.path == "" {
		return nil
	}
	return []provenance.Source{s.source}
}

// Paths and Sources are the file, where there is one.
func (s *Spec) Paths() []string {
	if s.path == "" {
		return nil
	}
	return []string{s.path}
}

func (s *Spec) load(c *cobra.Command) error {
	file := dialect.File{Path: s.path, Most: dialect.LargestSpec}
	text, mapping, err := file.Read("figure: " + c.Name() + ", inputs, and flags as keys")
	if err != nil {
		return err
	}
	s.source = archive.Source(s.path, text)
	given := map[string]bool{} // on the command line, before the spec adds to it
	c.Flags().Visit(func(f *pflag.Flag) { given[f.Name] = true })
	named := false
	err = file.Each(mapping, func(key string, at, value ast.Node) error {
		values, err := file.Values(value)
		if err != nil {
			return err
		}
		if values, err = s.found(key, values); err != nil {
			return file.Fault(value, "%v", err)
		}
		switch {
		case key == "figure":
			if len(values) != 1 || values[0] != c.Name() {
				return file.Fault(at, "figure is %q, and this is calotte %s",
					strings.Join(values, ", "),
					c.Name())
			}
			named = true
		case key == "inputs":
			for _, v := range values {
				s.inputs = append(s.inputs, disk.Expand([]string{file.SeenFrom(v)})...)
			}
		case !slices.Contains(dialect.Keys(c), key):
			return file.UnknownKey(at, key, append([]string{"figure", "inputs"}, dialect.Keys(c)...))
		case !given[key]: // else the command line counts more
			return file.Set(c, key, value, values)
		}
		return nil
	})
	if err == nil && !named {
		err = fmt.Errorf("%s does not say what to draw: add figure: %s", s.path, c.Name())
	}
	return err
}

// found puts the places of files for their names, where the folder of the spec
// does not say them.
func (s *Spec) found(key string, values []string) ([]string, error) {
	if s.places == nil || key != "inputs" && !slices.Contains(dialect.FileFlags, key) {
		return values, nil
	}
	var out []string
	for _, v := range values {
		paths, err := s.places.FindAll(v)
		if err != nil {
			return nil, err
		}
		out = append(out, paths...)
	}
	return out, nil
}

// PrintSchema writes the JSON Schema of the verb's specs, made from its flags.
func PrintSchema(a *session.Session, c *cobra.Command) error {
	encoder := json.NewEncoder(a.Stdout)
	encoder.SetIndent("", "  ")
	encoder.SetEscapeHTML(false)
	return encoder.Encode(specSchema(c))
}

func specSchema(c *cobra.Command) map[string]any {
	properties := map[string]any{
		"figure": map[string]any{"const": c.Name()},
		"inputs": map[string]any{"anyOf": []any{
			map[string]any{"type": "string"},
			map[string]any{"type": "array", "items": map[string]any{"type": "string"}, "minItems": 1},
		}, "description": "files, as seen from the folder of the spec; * stands for any text"},
	}
	for _, key := range dialect.Keys(c) {
		properties[key] = dialect.FlagSchema(c.Flags().Lookup(key))
	}
	return map[string]any{
		"$schema": "https://json-schema.org/draft/2020-12/schema",
		"title":   "A figure of calotte " + c.Name(),
		"type":    "object", "properties": properties,
		"required": []string{"figure", "inputs"}, "additionalProperties": false,
	}
}
