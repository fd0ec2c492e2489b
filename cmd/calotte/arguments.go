package main

import (
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"calotte/cmd/internal/dialect"
)

// notRedone are flags that say where things are or how a run behaves, not what it makes.
var notRedone = []string{"help", "output", "source-data", "jobs", "quiet", "force", "version", "spec-schema", "serve", "port"}

// arguments is the command line that does the work again, from any folder that holds the
// inputs: paths give way to base names, and what does not change the result is left out.
func (a *app) arguments(c *cobra.Command) []string {
	line := slices.Clone(a.args)
	if i := slices.Index(line, c.Name()); i >= 0 {
		line = slices.Delete(line, i, i+1)
	}
	var out []string
	flags := c.Flags()
	positional := slices.Clone(flags.Args())
	// Parsed a second time without setting anything, since a flag that may be repeated
	// cannot tell what it was given.
	err := flags.ParseAll(line, func(f *pflag.Flag, value string) error {
		switch {
		case slices.Contains(notRedone, f.Name):
			return nil
		case slices.Contains(dialect.FileFlags, f.Name):
			value = filepath.Base(value)
		case f.Name == "in": // that there was one, not how many or where
			value = ""
		}
		if arg := "--" + f.Name + "=" + value; f.Name != "in" || !slices.Contains(out, arg) {
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
