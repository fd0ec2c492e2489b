package session

import (
	"slices"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"calotte/cmd/internal/dialect"
)

// A Fate is what becomes of a flag when a command line is recorded, and when it
// is carried out again.
type Fate int

const (
	LeftOut   Fate = iota // it says where things are or how a run behaves, not what it makes
	KeptValue             // its value counts
	KeptName              // it names a file, of which the base name is kept
	KeptThere             // it names a folder to look in: that there was one counts, not which
)

// notRedone are flags that are left out.
var notRedone = []string{"help", "output", "source-data", "spec-schema", "serve", "port"}

// Fates are those of all flags of a verb that has any. Of the flags that all
// verbs share only the seed counts.
func Fates(c *cobra.Command) map[string]Fate {
	out := map[string]Fate{"seed": KeptValue}
	c.LocalNonPersistentFlags().VisitAll(func(f *pflag.Flag) {
		switch {
		case slices.Contains(notRedone, f.Name):
			out[f.Name] = LeftOut
		case slices.Contains(dialect.FileFlags, f.Name):
			out[f.Name] = KeptName
		case f.Name == "in":
			out[f.Name] = KeptThere
		default:
			out[f.Name] = KeptValue
		}
	})
	c.InheritedFlags().VisitAll(func(f *pflag.Flag) {
		if _, set := out[f.Name]; !set {
			out[f.Name] = LeftOut
		}
	})
	return out
}
