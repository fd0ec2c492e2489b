package main

import (
	"bytes"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
)

// A yamlFile is a mapping that someone wrote: a spec, or a recipe. Names of files in it are
// as seen from its folder.
type yamlFile struct{ path string }

// read returns the text and its one mapping; example says what is expected in an empty file.
func (y yamlFile) read(example string) (text []byte, mapping ast.MapNode, err error) {
	if text, err = console.ReadFile(y.path); err != nil {
		return nil, nil, err
	}
	if !utf8.Valid(text) {
		return nil, nil, fmt.Errorf("%s is not UTF-8: save it as such", y.path)
	}
	file, err := parser.ParseBytes(bytes.TrimPrefix(text, []byte("\ufeff")), 0)
	if err != nil {
		first, _, _ := strings.Cut(strings.TrimSpace(err.Error()), "\n")
		return nil, nil, fmt.Errorf("%s is no YAML: %s", y.path, first)
	}
	var body ast.Node
	for _, d := range file.Docs {
		if d.Body == nil || d.Body.Type() == ast.CommentType {
			continue
		}
		if body != nil {
			return nil, nil, y.fault(d.Body, "a second document: expected one a file")
		}
		body = d.Body
	}
	if body == nil {
		return nil, nil, fmt.Errorf("%s is empty: expected %s", y.path, example)
	}
	mapping, err = y.mapping(body, example)
	return text, mapping, err
}

func (y yamlFile) mapping(n ast.Node, example string) (ast.MapNode, error) {
	mapping, ok := n.(ast.MapNode)
	if !ok {
		return nil, y.fault(n, "expected keys with values, such as %s", example)
	}
	return mapping, nil
}

// each calls work for every key, none of which may stand there twice.
func (y yamlFile) each(mapping ast.MapNode, work func(key string, at, value ast.Node) error) error {
	seen := map[string]bool{}
	for it := mapping.MapRange(); it.Next(); {
		key := it.Key().String()
		if seen[key] {
			return y.fault(it.Key(), "%q stands there twice", key)
		}
		seen[key] = true
		if err := work(key, it.Key(), it.Value()); err != nil {
			return err
		}
	}
	return nil
}

// fault is an error about a line of the file.
func (y yamlFile) fault(n ast.Node, format string, a ...any) error {
	return fmt.Errorf("%s, line %d: %s", y.path, n.GetToken().Position.Line, fmt.Sprintf(format, a...))
}

// seenFrom is a file's name as seen from the folder of the file.
func (y yamlFile) seenFrom(name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(filepath.Dir(y.path), name)
}

// values are the texts of a scalar, or of a list of scalars.
func (y yamlFile) values(n ast.Node) ([]string, error) {
	list, ok := n.(*ast.SequenceNode)
	if !ok {
		text, err := y.scalar(n)
		return []string{text}, err
	}
	var out []string
	for _, item := range list.Values {
		text, err := y.scalar(item)
		if err != nil {
			return nil, err
		}
		out = append(out, text)
	}
	if out == nil {
		return nil, y.fault(n, "an empty list: leave the key out")
	}
	return out, nil
}

func (y yamlFile) scalar(n ast.Node) (string, error) {
	switch v := n.(type) {
	case *ast.StringNode:
		return v.Value, nil
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode:
		return n.GetToken().Value, nil
	}
	return "", y.fault(n, "expected a text, a number, true or false, or a list of them")
}

// set gives a verb's flag the values of a key; names of files are as seen from the file.
func (y yamlFile) set(c *cobra.Command, key string, n ast.Node, values []string) error {
	for _, v := range values {
		if slices.Contains(fileFlags, key) {
			v = y.seenFrom(v)
		}
		if err := c.Flags().Set(key, v); err != nil {
			reason := err.Error()
			if i := strings.Index(reason, "flag: "); i >= 0 {
				reason = reason[i+len("flag: "):]
			}
			return y.fault(n, "%s: %s", key, parsing.ReplaceAllString(reason, "expected a number"))
		}
	}
	return nil
}
