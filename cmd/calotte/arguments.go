package main

import (
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"calotte/cmd/internal/dialect"
)

// A fileOrText is a flag's value that may be the name of a file in place of what stands
// in it.
type fileOrText interface{ isFile(text string) bool }

// arguments is the command line that does the work again, from any folder that holds the
// inputs: paths give way to base names, and what does not change the result is left out.
func (a *app) arguments(c *cobra.Command) []string {
	line := slices.Clone(a.args)
	if i := slices.Index(line, c.Name()); i >= 0 {
		line = slices.Delete(line, i, i+1)
	}
	var out []string
	flags, fates := c.Flags(), fates(c)
	positional := slices.Clone(flags.Args())
	// Parsed a second time without setting anything, since a flag that may be repeated
	// cannot tell what it was given.
	err := flags.ParseAll(line, func(f *pflag.Flag, value string) error {
		if v, ok := f.Value.(fileOrText); ok && v.isFile(value) {
			value = f.Value.String()
		}
		switch fates[f.Name] {
		case leftOut:
			return nil
		case keptName:
			prefix, file := dialect.FileIn(f.Name, value)
			value = prefix + filepath.Base(file)
		case keptThere:
			value = ""
		}
		if arg := "--" + f.Name + "=" + value; fates[f.Name] != keptThere || !slices.Contains(out, arg) {
			out = append(out, arg)
		}
		return nil
	})
	if err != nil {
		return nil // the line was parsed once, so it parses
	}
	for _, p := range positional {
		out = append(out, filepath.Base(p))
	}
	return out
}
