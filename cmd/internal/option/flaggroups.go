package option

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// A Group is flags that the help shows together.
type Group struct {
	Title string
	Names []string
}

// HelpColumns is how wide the help of grouped flags is.
const HelpColumns = 100

// ShowGroups shows the flags of a verb in groups; those in none come last. It
// is called when all of them are registered.
func ShowGroups(c *cobra.Command, groups ...Group) {
	c.SetUsageFunc(func(c *cobra.Command) error {
		own := c.LocalNonPersistentFlags()
		rest := Group{Title: "Also"}
		grouped := func(name string) bool {
			return slices.ContainsFunc(groups, func(g Group) bool { return slices.Contains(g.Names, name) })
		}
		own.VisitAll(func(f *pflag.Flag) {
			if !grouped(f.Name) {
				rest.Names = append(rest.Names, f.Name)
			}
		})
		_, err := fmt.Fprintf(c.OutOrStderr(), "Usage:\n  %s\n\nExamples:\n%s\n%s\nGlobal Flags:\n%s",
			c.UseLine(), c.Example, usages(own, append(slices.Clone(groups), rest)),
			c.InheritedFlags().FlagUsagesWrapped(HelpColumns))
		return err
	})
}

// zeroes are the texts of zero values that are not shown as defaults.
var zeroes = map[string]string{"int": "0", "float64": "0", "stringSlice": "[]"}

// usages explains flags group by group, all in the same columns.
func usages(flags *pflag.FlagSet, groups []Group) string {
	ordered := pflag.NewFlagSet("", pflag.ContinueOnError)
	ordered.SortFlags = false
	heads := map[int]string{} // by the number of the flag that comes next
	n := 0
	for _, g := range groups {
		heads[n] = g.Title
		for _, name := range g.Names {
			f := *flags.Lookup(name)
			if zero, ok := zeroes[f.Value.Type()]; ok && f.DefValue == "" {
				f.DefValue = zero // see optional: no default is shown for a zero
			}
			ordered.AddFlag(&f)
			n++
		}
	}
	var b strings.Builder
	n = 0
	for line := range strings.Lines(ordered.FlagUsagesWrapped(HelpColumns)) {
		if begun := strings.TrimLeft(line, " "); strings.HasPrefix(begun, "-") && len(line)-len(begun) <= 6 {
			if title, ok := heads[n]; ok {
				fmt.Fprintf(&b, "\n%s:\n", title)
			}
			n++
		}
		b.WriteString(line)
	}
	return b.String()
}
