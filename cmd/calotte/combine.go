package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/store"
)

type combineFlags struct {
	difference  string
	weighted    bool
	centre      epoch.Centre
	name        string
	clock       averages.Clock
	rereference averages.Rereference
	onto        ontoFlags
	output      string
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

With --onto 10-10 averages of different caps, or of electrodes that were measured on
each head, are brought onto common sites first, by the spherical spline; sites far from
any electrode are named in the notes. With --reference they are re-referenced first
(after --onto where both are given).

--centre trimmed or median takes at each sample the mean of the participants without a
fifth at each end, or their median (see calotte average); their standard errors are those
of Tukey & McLaughlin (1963) and of the bootstrap. What is tested over people needs means.

The members, their hashes and their epochs are kept in the JSON file.`,
		Example: `  calotte combine calotte-demo/results/sub-*/sub-*_average.tsv --name pilots -o grand
  calotte combine calotte-demo/results/sub-*/sub-*_average.tsv --name pilots \
    --difference known,novel -o grand
  calotte combine calotte-demo/results/sub-*/sub-*_average.tsv --name trimmed --centre trimmed -o grand`,
		Args: session.AtLeast(1, "averages"),
		RunE: func(c *cobra.Command, args []string) error { return a.runCombine(c, f, args) },
	}
	flags := c.Flags()
	flags.StringVar(&f.difference, "difference", "", "`A,B`: condition A minus condition B")
	flags.BoolVar(&f.weighted, "weighted", false, "weigh participants by their epochs")
	flags.Var(&f.centre, "centre",
		"of the participants at each sample: mean, trimmed (by 20 % at each end) or median")
	flags.StringVar(&f.name, "name", f.name, "`NAME` that the files begin with")
	f.rereference.Register(c)
	f.onto.register(c)
	f.clock.Register(c)
	flags.StringVarP(&f.output, "output", "o", "", "`FOLDER` for the result")
	return c
}

func (a *app) runCombine(c *cobra.Command, f combineFlags, paths []string) error {
	if err := session.Required(c, "output", "-o grand"); err != nil {
		return err
	}
	if err := averages.CheckStem(f.name); err != nil {
		return err
	}
	wanted := average.Combination{Name: f.name, Weighted: f.weighted, Centre: f.centre}
	if c.Flags().Changed("difference") {
		var ok bool
		wanted.Minuend, wanted.Subtrahend, ok = strings.Cut(f.difference, ",")
		if !ok || wanted.Minuend == "" || wanted.Subtrahend == "" || wanted.Minuend == wanted.Subtrahend {
			return console.Usagef("--difference %q: expected two conditions such as known,novel",
				f.difference)
		}
	}
	read, err := f.read(a, c, paths)
	if err != nil {
		return err
	}
	head, err := f.onto.apply(a, c, read)
	if err != nil {
		return err
	}
	if err := f.rereference.Apply(a.Session, c, read); err != nil {
		return err
	}
	read.Files = append(read.Files, head.Paths...)
	combined, err := wanted.Of(read.Averages)
	if err != nil {
		return err
	}
	if one := combined[0].Info; one.Kind != average.GrandAverage &&
		(c.Flags().Changed("name") || f.weighted || f.centre != epoch.Mean) {
		return console.Usagef("the averages are of one participant, whose difference is named %s: leave "+
			"out --name, "+
			"--weighted and --centre", one.Name)
	}
	tables, err := a.saveCombined(c, f, read, head, combined)
	if err != nil {
		return err
	}
	for _, one := range combined {
		if few := one.Info.FewEpochs(); few != "" {
			a.Warn([]string{fmt.Sprintf("%s, %s: %s", one.Info.Name, one.Info.Title(), few)})
		}
	}
	reportCombined(a.Summary(false), combined, tables)
	return nil
}

// read reads the averages. Of those of one person the errors are needed, too,
// for those of a difference; errors over people come from their means.
func (f *combineFlags) read(a *app, c *cobra.Command, paths []string) (*averages.Tables, error) {
	read, err := f.clock.Load(a.Session, c, paths, f.rereference.Needed(c, store.Means))
	if err != nil || slices.ContainsFunc(read.Averages, func(one *average.Average) bool {
		return one.Info.Name != read.Averages[0].Info.Name
	}) {
		return read, err
	}
	return f.clock.Load(a.Session, c, paths, store.Everything)
}

// saveCombined writes the results and returns the paths of their tables.
func (a *app) saveCombined(c *cobra.Command, f combineFlags, read *averages.Tables, head *wearer.Head,
	combined []average.Combined) (tables []string, err error) {
	out := a.Files(read.Files)
	var planned []string
	for _, one := range combined {
		planned = append(planned, archive.Paths(f.output, archive.Stem(one.Info.Name, one.Info.Slug()))...)
	}
	if err := out.Plan(planned...); err != nil {
		return nil, err
	}
	for _, one := range combined {
		one.Info.Provenance = a.Provenance(c, append(averages.Sources(one.Parts), head.Sources...))
		path, err := archive.Save(out, f.output, one.Average)
		if err != nil {
			return nil, err
		}
		tables = append(tables, path)
	}
	if err := c.Context().Err(); err != nil {
		return nil, err
	}
	return tables, out.Write(c.Context())
}

func reportCombined(w io.Writer, combined []average.Combined, tables []string) {
	for i, one := range combined {
		what := "one participant"
		if one.Info.Kind == average.GrandAverage {
			names := make([]string, len(one.Info.Members))
			for j, m := range one.Info.Members {
				names[j] = m.Name
			}
			what = fmt.Sprintf("%d participants (%s)", len(names), strings.Join(names, " "))
		}
		console.Say(w, "%s, %s: %s → %s\n", one.Info.Name, one.Info.Title(), what, tables[i])
	}
	console.Say(w, "next: calotte map %s --at 100ms,170ms,350ms -o maps.pdf\n", console.ShellLine(tables))
}
