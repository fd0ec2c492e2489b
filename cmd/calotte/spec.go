package main

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"calotte/cmd/internal/console"
	"calotte/topo/erp"
)

// A specFlag is a file that holds what would be a long command line, in one dialect for
// all verbs: a mapping whose keys are the verb's own flags, with the values that the flags
// take, beside figure (the verb) and inputs. What stands on the command line as well
// counts more. Names of files are as seen from the folder of the spec.
type specFlag struct {
	path   string
	schema bool
	inputs []string
	source erp.Source
	read   bool
}

// notInSpec are flags that belong to the command line.
var notInSpec = []string{"help", "spec", "spec-schema", "output", "in", "source-data"}

// fileFlags are flags that name files.
var fileFlags = []string{"head", "scan", "landmarks", "electrodes", "cap-sizes", "text", "events", "exclude", "windows", "mark", "capcheck", "components", "spec"}

func (s *specFlag) register(c *cobra.Command) {
	flags := c.Flags()
	flags.StringVar(&s.path, "spec", "", "`FILE`.yaml with figure: "+c.Name()+", inputs, and flags of this verb as keys")
	flags.BoolVar(&s.schema, "spec-schema", false, "print the JSON Schema of --spec, and stop")
}

// args carries out the spec before the arguments are counted.
func (s *specFlag) args(next cobra.PositionalArgs) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if s.schema {
			return nil
		}
		if s.path != "" && !s.read {
			if err := s.load(c); err != nil {
				return err
			}
			s.read = true
		}
		return next(c, s.all(args))
	}
}

// all are the inputs of the spec and of the command line.
func (s *specFlag) all(args []string) []string { return slices.Concat(s.inputs, args) }

// sources and paths are the file, where there is one.
func (s *specFlag) sources() []erp.Source {
	if s.path == "" {
		return nil
	}
	return []erp.Source{s.source}
}

func (s *specFlag) paths() []string {
	if s.path == "" {
		return nil
	}
	return []string{s.path}
}

func (s *specFlag) load(c *cobra.Command) error {
	text, err := console.ReadFile(s.path)
	if err != nil {
		return err
	}
	s.source = source(s.path, text)
	file, err := parser.ParseBytes(text, 0)
	if err != nil {
		first, _, _ := strings.Cut(strings.TrimSpace(err.Error()), "\n")
		return fmt.Errorf("%s is no YAML: %s", s.path, first)
	}
	var body ast.Node
	for _, d := range file.Docs {
		if d.Body == nil || d.Body.Type() == ast.CommentType {
			continue
		}
		if body != nil {
			return s.fault(d.Body, "a second document: expected one figure a file")
		}
		body = d.Body
	}
	if body == nil {
		return fmt.Errorf("%s is empty: expected figure: %s, inputs, and flags as keys", s.path, c.Name())
	}
	mapping, ok := body.(ast.MapNode)
	if !ok {
		return s.fault(body, "expected keys with values, such as figure: %s", c.Name())
	}
	return s.apply(c, mapping)
}

// fault is an error about a line of the file.
func (s *specFlag) fault(n ast.Node, format string, a ...any) error {
	return fmt.Errorf("%s, line %d: %s", s.path, n.GetToken().Position.Line, fmt.Sprintf(format, a...))
}

func (s *specFlag) apply(c *cobra.Command, mapping ast.MapNode) error {
	given := map[string]bool{} // on the command line, before the spec adds to it
	c.Flags().Visit(func(f *pflag.Flag) { given[f.Name] = true })
	seen := map[string]bool{}
	named := false
	for it := mapping.MapRange(); it.Next(); {
		key := it.Key().String()
		if seen[key] {
			return s.fault(it.Key(), "%q stands there twice", key)
		}
		seen[key] = true
		values, err := s.values(it.Value())
		if err != nil {
			return err
		}
		switch f := c.Flags().Lookup(key); {
		case key == "figure":
			if len(values) != 1 || values[0] != c.Name() {
				return s.fault(it.Key(), "figure is %q, and this is calotte %s", strings.Join(values, ", "), c.Name())
			}
			named = true
		case key == "inputs":
			for _, v := range values {
				s.inputs = append(s.inputs, expand([]string{s.seenFrom(v)})...)
			}
		case f == nil || slices.Contains(notInSpec, key) || c.InheritedFlags().Lookup(key) != nil:
			return s.fault(it.Key(), "there is no key %q: expected figure, inputs, or one of %s", key, strings.Join(specKeys(c), ", "))
		case given[key]: // the command line counts more
		default:
			for _, v := range values {
				if slices.Contains(fileFlags, key) {
					v = s.seenFrom(v)
				}
				if err := c.Flags().Set(key, v); err != nil {
					reason := err.Error()
					if i := strings.Index(reason, "flag: "); i >= 0 {
						reason = reason[i+len("flag: "):]
					}
					return s.fault(it.Value(), "%s: %s", key, parsing.ReplaceAllString(reason, "expected a number"))
				}
			}
		}
	}
	if !named {
		return fmt.Errorf("%s does not say what to draw: add figure: %s", s.path, c.Name())
	}
	return nil
}

// seenFrom is a file's name as seen from the folder of the spec.
func (s *specFlag) seenFrom(name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(filepath.Dir(s.path), name)
}

// values are the texts of a scalar, or of a list of scalars.
func (s *specFlag) values(n ast.Node) ([]string, error) {
	list, ok := n.(*ast.SequenceNode)
	if !ok {
		text, err := s.scalar(n)
		return []string{text}, err
	}
	var out []string
	for _, item := range list.Values {
		text, err := s.scalar(item)
		if err != nil {
			return nil, err
		}
		out = append(out, text)
	}
	if out == nil {
		return nil, s.fault(n, "an empty list: leave the key out")
	}
	return out, nil
}

func (s *specFlag) scalar(n ast.Node) (string, error) {
	switch v := n.(type) {
	case *ast.StringNode:
		return v.Value, nil
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode:
		return n.GetToken().Value, nil
	}
	return "", s.fault(n, "expected a text, a number, true or false, or a list of them")
}

// specKeys are the flags that a spec may hold, besides figure and inputs.
func specKeys(c *cobra.Command) []string {
	var keys []string
	c.LocalNonPersistentFlags().VisitAll(func(f *pflag.Flag) {
		if !slices.Contains(notInSpec, f.Name) {
			keys = append(keys, f.Name)
		}
	})
	return keys
}

// printSchema writes the JSON Schema of the verb's specs, made from its flags.
func (a *app) printSchema(c *cobra.Command) error {
	encoder := json.NewEncoder(a.stdout)
	encoder.SetIndent("", "  ")
	encoder.SetEscapeHTML(false)
	return encoder.Encode(specSchema(c))
}

func specSchema(c *cobra.Command) map[string]any {
	text := map[string]any{"type": []string{"string", "number"}}
	list := map[string]any{"anyOf": []any{text, map[string]any{"type": "array", "items": text, "minItems": 1}}}
	properties := map[string]any{
		"figure": map[string]any{"const": c.Name()},
		"inputs": map[string]any{"anyOf": []any{
			map[string]any{"type": "string"},
			map[string]any{"type": "array", "items": map[string]any{"type": "string"}, "minItems": 1},
		}, "description": "files, as seen from the folder of the spec; * stands for any text"},
	}
	for _, key := range specKeys(c) {
		f := c.Flags().Lookup(key)
		property := map[string]any{"description": f.Usage}
		switch f.Value.Type() {
		case "bool":
			property["type"] = "boolean"
		case "int":
			property["type"] = "integer"
		case "float64":
			property["type"] = "number"
		default:
			property["anyOf"] = list["anyOf"]
		}
		properties[key] = property
	}
	return map[string]any{
		"$schema": "https://json-schema.org/draft/2020-12/schema",
		"title":   "A figure of calotte " + c.Name(),
		"type":    "object", "properties": properties,
		"required": []string{"figure", "inputs"}, "additionalProperties": false,
	}
}
