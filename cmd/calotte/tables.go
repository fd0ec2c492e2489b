package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/topo/erp/average"
	"calotte/topo/provenance"
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

// tables are averages and where they were read from.
type tables struct {
	averages []*average.Average
	paths    []string // of each average's table, as given
	files    []string // all files that were read, never to be written to
}

// load reads the averages at the given paths, each one once.
func (k *clockFlags) load(c *cobra.Command, paths []string) (*tables, error) {
	switch rate := c.Flags().Changed("rate"); {
	case rate && k.rate <= 0:
		return nil, console.Usagef("--rate %v: expected a positive rate such as 250Hz", k.rate)
	case !rate && c.Flags().Changed("first"):
		return nil, console.Usagef("--first needs --rate, for a table without a time column")
	}
	if err := disk.Distinct(paths); err != nil {
		return nil, err
	}
	averages, files, err := archive.LoadAll(paths, average.Clock{Rate: float64(k.rate), First: float64(k.first)})
	if err != nil {
		return nil, err
	}
	return &tables{averages: averages, paths: paths, files: files}, nil
}

// sources is the tables that averages were read from.
func sources(averages []*average.Average) []provenance.Source {
	var out []provenance.Source
	for _, a := range averages {
		out = append(out, a.Info.Files[0])
	}
	return out
}

// titles names each average by what tells it from the others: condition, name,
// or both, and where these are alike the file or its folder.
func (t *tables) titles() ([]string, error) {
	sameName, sameCondition := true, true
	for _, a := range t.averages {
		sameName = sameName && a.Info.Name == t.averages[0].Info.Name
		sameCondition = sameCondition && a.Info.Title() == t.averages[0].Info.Title()
	}
	texts := make([]string, len(t.averages))
	for i, a := range t.averages {
		switch {
		case sameName || a.Info.Name == a.Info.Title(): // a table of its own is named after its file
			texts[i] = a.Info.Title()
		case sameCondition:
			texts[i] = a.Info.Name + ", " + a.Info.Title()
		default:
			texts[i] = a.Info.Title() + ", " + a.Info.Name
		}
	}
	return t.tellApart(texts,
		func(i int, text string) string {
			base := filepath.Base(t.paths[i])
			return text + ", " + strings.TrimSuffix(base, filepath.Ext(base))
		},
		func(i int, text string) string { return text + ", " + folder(t.paths[i]) })
}

// origins names the file of each average, with its folder where files of one
// name were given.
func (t *tables) origins() ([]string, error) {
	texts := make([]string, len(t.paths))
	for i, path := range t.paths {
		texts[i] = filepath.Base(path)
	}
	return t.tellApart(texts, func(i int, text string) string { return folder(t.paths[i]) + "/" + text })
}

// folder is the name of the folder that a file lies in.
func folder(path string) string {
	if whole, err := filepath.Abs(path); err == nil {
		path = whole
	}
	return filepath.Base(filepath.Dir(path))
}

// tellApart puts in the place of equal texts what the first of the given ways
// that tells them apart makes of them.
func (t *tables) tellApart(texts []string, ways ...func(i int, text string) string) ([]string, error) {
	alike := map[string][]int{}
	for i, text := range texts {
		alike[text] = append(alike[text], i)
	}
	out := make([]string, len(texts))
	copy(out, texts)
	for _, text := range texts {
		if set := alike[text]; len(set) > 1 && !apart(out, set, text, ways) {
			return nil, fmt.Errorf("%s and %s would both be named %q: rename one of them", t.paths[set[0]], t.paths[set[1]], text)
		}
	}
	return out, nil
}

// apart fills in the texts of a set by the first way that gives no two alike.
func apart(out []string, set []int, text string, ways []func(i int, text string) string) bool {
	for _, way := range ways {
		seen := map[string]bool{}
		for _, i := range set {
			out[i] = way(i, text)
			seen[out[i]] = true
		}
		if len(seen) == len(set) {
			return true
		}
	}
	return false
}

// checkStem refuses what --name cannot be.
func checkStem(name string) error {
	if err := archive.CheckStem(name); err != nil {
		return console.Usagef("--name %w", err)
	}
	return nil
}
