package guide

import (
	_ "embed"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"
	"sync"

	"github.com/goccy/go-yaml"

	"calotte/topo/smallyaml"
)

//go:embed text.yaml
var englishText []byte

// English returns the words that come with the program.
var English = sync.OnceValues(func() (*Text, error) {
	t := new(Text)
	if err := yaml.UnmarshalWithOptions(englishText, t, yaml.Strict()); err != nil {
		return nil, err
	}
	return t, nil
})

const maxText = 64 << 10 // bytes; the English text has some 10,000

// ReadText reads a lab's own words: a YAML file of the form of the English one.
// It refuses a key that is missing, empty, unknown or given twice, and a text
// that lacks a word in braces which the English one has, or has one of its own.
func ReadText(r io.Reader) (*Text, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxText+1))
	if err != nil {
		return nil, fmt.Errorf("guide text: %w", err)
	}
	body, err := smallyaml.Parse(data, maxText)
	if err != nil {
		return nil, fmt.Errorf("guide text: %w", err)
	}
	t := new(Text)
	if body != nil { // else all is missing
		if err := yaml.NodeToValue(body, t, yaml.Strict()); err != nil {
			return nil, fmt.Errorf("guide text: %s", yaml.FormatError(err, false, false))
		}
	}
	english, err := English()
	if err != nil {
		return nil, err
	}
	if err := t.compare(english); err != nil {
		return nil, fmt.Errorf("guide text: %w", err)
	}
	return t, nil
}

// compare finds what a translation lacks.
func (t *Text) compare(english *Text) error {
	want := map[string]string{}
	english.walk(func(key string, s *string) error { want[generic(key)] = *s; return nil })
	return t.walk(func(key string, s *string) error {
		if strings.TrimSpace(*s) == "" {
			return fmt.Errorf("%s is missing or empty: translate it", key)
		}
		if got, wanted := braces(*s), braces(want[generic(key)]); !slices.Equal(got, wanted) {
			return fmt.Errorf("%s has the fillings %v: expected %v", key, got, wanted)
		}
		return nil
	})
}

// generic is a key with the item numbers of lists left out: all items of a list
// follow the same rules.
func generic(key string) string {
	list, item, ok := strings.Cut(key, "[")
	if !ok {
		return key
	}
	_, rest, _ := strings.Cut(item, "]")
	return list + generic(rest)
}

// braces lists what a text wants filled in, sorted.
func braces(s string) []string {
	var found []string
	for {
		_, rest, ok := strings.Cut(s, "{")
		if !ok {
			slices.Sort(found)
			return found
		}
		name, after, ok := strings.Cut(rest, "}")
		if !ok {
			name, after = rest, ""
		}
		found = append(found, name)
		s = after
	}
}

// walk visits every text with its key, in the file's order. An empty list is an
// error.
func (t *Text) walk(visit func(key string, s *string) error) error {
	return walk(reflect.ValueOf(t).Elem(), "", visit)
}

func walk(v reflect.Value, key string, visit func(string, *string) error) error {
	switch v.Kind() {
	case reflect.String:
		return visit(key, v.Addr().Interface().(*string))
	case reflect.Slice:
		if v.Len() == 0 {
			return fmt.Errorf("%s is missing or empty: translate it", key)
		}
		for i := range v.Len() {
			if err := walk(v.Index(i), fmt.Sprintf("%s[%d]", key, i), visit); err != nil {
				return err
			}
		}
	case reflect.Struct:
		for i := range v.NumField() {
			name := v.Type().Field(i).Tag.Get("yaml")
			if key != "" {
				name = key + "." + name
			}
			if err := walk(v.Field(i), name, visit); err != nil {
				return err
			}
		}
	default:
		return errors.New(key + " is no text")
	}
	return nil
}

// fill puts values into a text: fill("{a} of {b}", "a", "1", "b", "2").
func fill(text string, pairs ...string) string {
	named := slices.Clone(pairs)
	for i := 0; i < len(named); i += 2 {
		named[i] = "{" + named[i] + "}"
	}
	return strings.NewReplacer(named...).Replace(text)
}
