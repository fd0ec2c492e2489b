package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/topo/erp/average"
)

type combineFlags struct {
	difference  string
	weighted    bool
	name        string
	clock       clockFlags
	rereference rereferenceFlag
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

The members, their hashes and their epochs are kept in the JSON file.`,
		Example: `  calotte combine calotte-demo/results/sub-*/sub-*_average.tsv --name pilots -o grand
  calotte combine calotte-demo/results/sub-*/sub-*_average.tsv --name pilots \
    --difference known,novel -o grand`,
		Args: inputs(1, "averages"),
		RunE: func(c *cobra.Command, args []string) error { return a.runCombine(c, f, args) },
	}
	flags := c.Flags()
	flags.StringVar(&f.difference, "difference", "", "`A,B`: condition A minus condition B")
	flags.BoolVar(&f.weighted, "weighted", false, "weigh participants by their epochs")
	flags.StringVar(&f.name, "name", f.name, "`NAME` that the files begin with")
	f.rereference.register(c)
	f.onto.register(c)
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
	wanted := average.Combination{Name: f.name, Weighted: f.weighted}
	if c.Flags().Changed("difference") {
		var ok bool
		wanted.Minuend, wanted.Subtrahend, ok = strings.Cut(f.difference, ",")
		if !ok || wanted.Minuend == "" || wanted.Subtrahend == "" || wanted.Minuend == wanted.Subtrahend {
			return console.Usagef("--difference %q: expected two conditions such as known,novel", f.difference)
		}
	}
	read, err := f.clock.load(c, paths)
	if err != nil {
		return err
	}
	head, err := f.onto.apply(a, c, read)
	if err != nil {
		return err
	}
	if err := f.rereference.apply(a, c, read); err != nil {
		return err
	}
	read.files = append(read.files, head.paths...)
	combined, err := wanted.Of(read.averages)
	if err != nil {
		return err
	}
	if one := combined[0].Info; one.Kind != average.GrandAverage && (c.Flags().Changed("name") || f.weighted) {
		return console.Usagef("the averages are of one participant, whose difference is named %s: leave out --name and --weighted", one.Name)
	}
	tables, err := a.saveCombined(c, f, read, head, combined)
	if err != nil {
		return err
	}
	reportCombined(a.summary(false), combined, tables)
	return nil
}

// saveCombined writes the results and returns the paths of their tables.
func (a *app) saveCombined(c *cobra.Command, f combineFlags, read *tables, head *headModel, combined []average.Combined) (tables []string, err error) {
	out := a.files(read.files)
	var planned []string
	for _, one := range combined {
		planned = append(planned, archive.Paths(f.output, archive.Stem(one.Info.Name, one.Info.Slug()))...)
	}
	if err := out.Plan(planned...); err != nil {
		return nil, err
	}
	for _, one := range combined {
		one.Info.Provenance = a.provenance(c, append(sources(one.Parts), head.sources...))
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
	console.Say(w, "next: calotte map %s --at 100ms,170ms,350ms -o maps.pdf\n", shellLine(tables))
}
