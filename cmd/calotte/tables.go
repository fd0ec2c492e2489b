package main

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/topo/erp"
	"calotte/topo/unit"
)

// clockFlags place the rows of a table that has no time column.
type clockFlags struct {
	rate  unit.Frequency
	first unit.Time
}

func (k *clockFlags) register(c *cobra.Command) {
	c.Flags().Var(&k.rate, "rate", "sampling rate of a table without a time column")
	c.Flags().Var(&k.first, "first", "time of the first row of a table without a time column")
	optional(c.Flags(), "rate", "first")
}

// load reads the averages at the given paths, each one once.
func (k *clockFlags) load(c *cobra.Command, paths []string) ([]*erp.Average, error) {
	switch rate := c.Flags().Changed("rate"); {
	case rate && k.rate <= 0:
		return nil, console.Usagef("--rate %v: expected a positive rate such as 250Hz", k.rate)
	case !rate && c.Flags().Changed("first"):
		return nil, console.Usagef("--first needs --rate, for a table without a time column")
	}
	clock := erp.Clock{Rate: float64(k.rate), First: float64(k.first)}
	var out []*erp.Average
	for i, path := range paths {
		if slices.Contains(paths[:i], path) {
			return nil, console.Usagef("%s is given twice", path)
		}
		a, err := archive.Load(path, clock)
		if err != nil {
			return nil, err
		}
		out = append(out, a)
	}
	return out, nil
}

// checkStem refuses what cannot begin a file's name.
func checkStem(name string) error {
	if name == "" || strings.ContainsAny(name, `/\`) || strings.HasPrefix(name, ".") {
		return console.Usagef("--name %q cannot begin a file's name: use letters, digits and hyphens", name)
	}
	return nil
}
