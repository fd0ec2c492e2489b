package cohort

import (
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/dialect"
)

// A section is settings of one verb.
type section []setting

// A setting is one key of it, a flag of the verb, with its line in the recipe;
// 0: it goes without saying.
type setting struct {
	key    string
	values []string
	line   int
}

// recipeFlags are the flags of a verb that a recipe may hold.
func recipeFlags(c *cobra.Command, without []string) []string {
	return slices.DeleteFunc(dialect.Keys(c), func(k string) bool { return slices.Contains(without, k) })
}

// get are the values of a key.
func (s section) get(key string) []string {
	for _, x := range s {
		if x.key == key {
			return x.values
		}
	}
	return nil
}

// conditions are the names of those that it holds.
func (s section) conditions() []string {
	var names []string
	for _, v := range s.get("condition") {
		name, _, _ := strings.Cut(v, "=")
		names = append(names, name)
	}
	return names
}

// with is the section where another's settings take the place of its own.
func (s section) with(other section) section {
	out := slices.DeleteFunc(slices.Clone(s), func(x setting) bool { return other.get(x.key) != nil })
	return append(out, other...)
}

// args are the settings as flags, and the files that they name, as seen from
// the recipe.
func (r *Recipe) args(s section) (args, files []string) {
	for _, x := range s {
		for _, v := range x.values {
			v, file := r.Place(x.key, v)
			if file != "" {
				files = append(files, file)
			}
			args = append(args, "--"+x.key+"="+v)
		}
	}
	return args, files
}

// settings are the settings as they bear on the result: files by their base
// names.
func (s section) settings() []string {
	var out []string
	for _, x := range s {
		for _, v := range x.values {
			if slices.Contains(dialect.FileFlags, x.key) {
				v = filepath.Base(v)
			}
			out = append(out, x.key+"="+v)
		}
	}
	return out
}
