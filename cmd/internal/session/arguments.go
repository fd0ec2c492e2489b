package session

import (
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"calotte/cmd/internal/dialect"
)

// A FileOrText is a flag's value that may be the name of a file in place of
// what stands in it.
type FileOrText interface{ IsFile(text string) bool }

// arguments is the command line that does the work again, from any folder that
// holds the inputs: paths give way to base names, and what does not change the
// result is left out.
func (a *Session) arguments(c *cobra.Command) []string {
	line := slices.Clone(a.Args)
	if i := slices.Index(line, c.Name()); i >= 0 {
		line = slices.Delete(line, i, i+1)
	}
	var out []string
	flags, fates := c.Flags(), Fates(c)
	positional := slices.Clone(flags.Args())
	// Parsed a second time without setting anything, since a flag that may
	// be repeated cannot tell what it was given.
	err := flags.ParseAll(line, func(f *pflag.Flag, value string) error {
		if v, ok := f.Value.(FileOrText); ok && v.IsFile(value) {
			value = f.Value.String()
		}
		switch fates[f.Name] {
		case LeftOut:
			return nil
		case KeptName:
			prefix, file := dialect.FileIn(f.Name, value)
			value = prefix + filepath.Base(file)
		case KeptThere:
			value = ""
		}
		if arg := "--" + f.Name + "=" + value; fates[f.Name] != KeptThere || !slices.Contains(out, arg) {
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
