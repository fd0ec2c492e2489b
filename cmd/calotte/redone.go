package main

import (
	"slices"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"calotte/cmd/internal/dialect"
)

// redoneVerbs are the verbs whose work can be done again, and whether their arguments are
// files. Other verbs ask, serve, or make what does not say how it was made.
var redoneVerbs = map[string]bool{
	"average": true, "combine": true,
	"map": true, "values": true, "traces": true, "frames": true, "explore": true,
	"components": true, "asymmetry": true, "compare": true,
	"capcheck": true,
	"guide":    false, // CODE would ask for measures, or look for those beside the user
}

// A fate is what becomes of a flag when a command line is recorded, and when it is carried
// out again.
type fate int

const (
	leftOut   fate = iota // it says where things are or how a run behaves, not what it makes
	keptValue             // its value counts
	keptName              // it names a file, of which the base name is kept
	keptThere             // it names a folder to look in: that there was one counts, not which
)

// notRedone are flags that are left out.
var notRedone = []string{"help", "output", "source-data", "spec-schema", "serve", "port"}

// fates are those of all flags of a verb that has any. Of the flags that all verbs share
// only the seed counts.
func fates(c *cobra.Command) map[string]fate {
	out := map[string]fate{"seed": keptValue}
	c.LocalNonPersistentFlags().VisitAll(func(f *pflag.Flag) {
		switch {
		case slices.Contains(notRedone, f.Name):
			out[f.Name] = leftOut
		case slices.Contains(dialect.FileFlags, f.Name):
			out[f.Name] = keptName
		case f.Name == "in":
			out[f.Name] = keptThere
		default:
			out[f.Name] = keptValue
		}
	})
	c.InheritedFlags().VisitAll(func(f *pflag.Flag) {
		if _, set := out[f.Name]; !set {
			out[f.Name] = leftOut
		}
	})
	return out
}
