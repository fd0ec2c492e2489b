package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/topo/erp"
)

type combineFlags struct {
	difference string
	weighted   bool
	name       string
	clock      clockFlags
	output     string
}

func (a *app) combine() *cobra.Command {
	f := combineFlags{name: "group"}
	c := &cobra.Command{
		Use:   "combine AVERAGE…",
		Short: "Average over participants, and subtract conditions",
		Long: `Combine makes a grand average of each condition over the participants given. Its
standard error is over participants.

With --difference known,novel it takes known minus novel within each participant,
matched by name, and averages the differences; their standard error is that of the
paired differences. The averages of one participant give that person's difference.

The members, their hashes and their epochs are kept in the JSON file.`,
		Example: `  calotte combine calotte-demo/averages/sub-*_average.tsv --name pilots -o grand
  calotte combine calotte-demo/averages/sub-*_average.tsv --name pilots \
    --difference known,novel -o grand`,
		Args: inputs(1, "averages"),
		RunE: func(c *cobra.Command, args []string) error { return a.runCombine(c, f, args) },
	}
	flags := c.Flags()
	flags.StringVar(&f.difference, "difference", "", "`A,B`: condition A minus condition B")
	flags.BoolVar(&f.weighted, "weighted", false, "weigh participants by their epochs")
	flags.StringVar(&f.name, "name", f.name, "`NAME` that the files begin with")
	f.clock.register(c)
	flags.StringVarP(&f.output, "output", "o", "", "`FOLDER` for the result")
	return c
}

func (a *app) runCombine(c *cobra.Command, f combineFlags, paths []string) error {
	if err := required(c, "output", "-o grand"); err != nil {
		return err
	}
	if err := checkStem(f.name); err != nil {
		return err
	}
	averages, err := f.clock.load(c, paths)
	if err != nil {
		return err
	}
	combined, err := combineAll(averages, f)
	if err != nil {
		return err
	}
	out := a.files(paths)
	var planned []string
	for _, avg := range combined {
		planned = append(planned, archive.Paths(f.output, archive.Stem(avg.Info.Name, avg.Info.Slug()))...)
	}
	if err := out.Plan(planned...); err != nil {
		return err
	}
	var tables []string
	for _, avg := range combined {
		avg.Info.Provenance = provenance(c, sources(averages))
		path, err := archive.Save(out, f.output, avg)
		if err != nil {
			return err
		}
		tables = append(tables, path)
	}
	if err := out.Write(); err != nil {
		return err
	}
	reportCombined(a.summary(false), combined, tables)
	return nil
}

// combineAll does what the flags ask for with the averages: a grand average a
// condition, or one of differences, or one person's difference.
func combineAll(averages []*erp.Average, f combineFlags) ([]*erp.Average, error) {
	titles, groups, err := erp.ByCondition(averages)
	if err != nil {
		return nil, err
	}
	if f.difference == "" {
		var out []*erp.Average
		for _, t := range titles {
			g, err := erp.Grand(f.name, groups[t], f.weighted)
			if err != nil {
				return nil, fmt.Errorf("condition %s: %w", t, err)
			}
			out = append(out, g)
		}
		return out, nil
	}
	first, second, ok := strings.Cut(f.difference, ",")
	if !ok || first == second {
		return nil, console.Usagef("--difference %q: expected two conditions such as known,novel", f.difference)
	}
	for _, name := range []string{first, second} {
		if groups[name] == nil {
			return nil, fmt.Errorf("--difference: no condition %q among the averages: there is %s", name, strings.Join(titles, ", "))
		}
	}
	differences, err := erp.Differences(groups[first], groups[second])
	if err != nil {
		return nil, err
	}
	if len(differences) == 1 {
		return differences, nil
	}
	g, err := erp.Grand(f.name, differences, f.weighted)
	if err != nil {
		return nil, err
	}
	return []*erp.Average{g}, nil
}

func reportCombined(w io.Writer, combined []*erp.Average, tables []string) {
	for i, avg := range combined {
		what := "one participant"
		if avg.Info.Kind == erp.GrandAverage {
			names := make([]string, len(avg.Info.Members))
			for j, m := range avg.Info.Members {
				names[j] = m.Name
			}
			what = fmt.Sprintf("%d participants (%s)", len(names), strings.Join(names, " "))
		}
		fmt.Fprintf(w, "%s, %s: %s → %s\n", avg.Info.Name, avg.Info.Title(), what, tables[i])
	}
	fmt.Fprintf(w, "next: calotte map %s --at 100ms,170ms,350ms -o maps.pdf\n", strings.Join(tables, " "))
}

// sources is what averages were read from.
func sources(averages []*erp.Average) []erp.Source {
	var out []erp.Source
	for _, a := range averages {
		out = append(out, a.Info.Files[0])
	}
	return out
}
