package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/declared"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/figure"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/topo/contrast"
	"calotte/topo/erp/average"
	"calotte/topo/inference"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

type compareFlags struct {
	averages     averages.Flags
	during       unit.Span
	arrangements int
	correct      contrast.Correction
	level        float64
	shared       bool
	head         wearer.Flags
	positions    wearer.Electrodes
	declared     declared.File
	output       string
	figure       figure.Flags
}

func newCompareFlags() *compareFlags {
	return &compareFlags{arrangements: 5000, level: .05, figure: figure.NewFlags()}
}

func (a *app) compare() *cobra.Command { return a.compareBy(newCompareFlags()) }

// compareBy is the verb, which reads these flags.
func (a *app) compareBy(f *compareFlags) *cobra.Command {
	c := &cobra.Command{
		Use:   "compare AVERAGE AVERAGE…",
		Short: "Test where and when two conditions or groups differ",
		Long: `Compare tests two conditions of the same people, matched by their labels, or two groups
of people, by permutation: clusters of neighbouring sites and samples whose t is large
(Maris & Oostenveld 2007), each with a p that is corrected over the whole head and time.

Give two grand averages, whose people are looked for beside and around them and in --in, or the
averages of the people themselves.

Which correction is taken decides what is found, so choose it before you look: --declared
FILE names a recipe, or a file with its section compare:, that asks for this test, and the
text and the figure say whether all averages were made with that file (calotte average …
--declared FILE; declared: in a recipe). What other tables beside the output tested on the
same averages is told.

With -o NAME.tsv it writes the clusters, and NAME_marks.tsv with the sites of those of
p* 0.05 or less, which map marks: calotte map … --mark NAME_marks.tsv. With -o FILE.png,
.svg, .pdf or .tiff it draws t over sites and time, and maps of t where the clusters are
strongest, with their sites marked.`,
		Example: `  calotte compare calotte-demo/results/group/pilots_known_average.tsv calotte-demo/results/group/pilots_novel_average.tsv \
    --during 100..250ms --arrangements 1000 -o known-novel.tsv
  calotte compare calotte-demo/results/group/pilots_known_average.tsv calotte-demo/results/group/pilots_novel_average.tsv \
    --during 100..250ms --arrangements 1000 -o known-novel.png`,
		Args: session.AtLeast(2, "two averages or more"),
		RunE: func(c *cobra.Command, args []string) error { return a.runCompare(c, f, args) },
	}
	flags := c.Flags()
	f.averages.RegisterFolders(c, "participants in")
	flags.Var(&f.during, "during", "the time to look at (default: all after the event)")
	flags.IntVar(&f.arrangements, "arrangements", f.arrangements, "`N` to draw, where there are more")
	flags.Var(&f.correct, "correct",
		"clusters, or single points by enhanced (threshold-free enhancement), largest (the largest "+
			"|t| over all "+
			"points) or fdr (false discovery rate)")
	flags.Float64Var(&f.level, "level", f.level,
		"`P` of a single point from which on it may join a cluster, two-sided")
	f.declared.Register(c, "`FILE` that declared this test before the averages were made (compare: as in a recipe)")
	flags.BoolVar(&f.shared, "shared", false, "test the sites that all have, and leave the others out")
	f.head.Register(c)
	f.positions.Register(c, true)
	f.averages.Register(c)
	f.figure.Register(c)
	flags.Lookup("output").Usage = "`FILE`.tsv for the clusters, with a JSON and the marks beside it; .png, .svg, " +
		".pdf or .tiff for the figure"
	session.Optional(flags, "during")
	option.ShowGroups(c,
		option.Group{Title: "What",
			Names: []string{"in", "during", "shared", "reference", "correct", "arrangements", "level",
				"declared"}},
		option.Group{Title: "What is written", Names: []string{"output", "width", "dpi", "source-data"}},
		option.Group{Title: "The head",
			Names: append([]string{"head", "electrodes"},
				append(slices.Clone(wearer.TapeFlags), "scan", "landmarks", "scan-unit")...)},
	)
	return c
}

func (f *compareFlags) check(a *app, c *cobra.Command) error {
	f.output = f.figure.Output
	if err := f.figure.CheckDrawn(c, "compare.png", 80); err != nil {
		return err
	}
	if f.arrangements < 99 {
		return console.Usagef("--arrangements %d: expected 99 or more", f.arrangements)
	}
	if err := a.bounded(mostArrangements, f.arrangements); err != nil {
		return err
	}
	if !(f.level > 0 && f.level <= .2) {
		return console.Usagef("--level %v: expected a p such as 0.05", f.level)
	}
	return f.averages.Check()
}

func (a *app) runCompare(c *cobra.Command, f *compareFlags, paths []string) error {
	if err := f.check(a, c); err != nil {
		return err
	}
	if err := f.declared.Read(a.compare); err != nil {
		return err
	}
	tables, err := f.averages.ReadMeans(a.Session, c, paths)
	if err != nil {
		return err
	}
	groups, err := f.groups(c.Context(), tables)
	if err != nil {
		return err
	}
	head, err := f.head.Read(a.Session, c)
	if err != nil {
		return err
	}
	if err := head.Measure(a.Session, &f.positions); err != nil {
		return err
	}
	out := a.Files(slices.Concat(tables.Files, head.Paths, f.declared.Paths()))
	clusters := averages.SavedTable{Path: f.output,
		Columns: strings.Fields("cluster sign mass p from to sites largest_t at_site at_time")}
	marks := averages.SavedTable{Path: strings.TrimSuffix(f.output, filepath.Ext(f.output)) + "_marks.tsv",
		Columns: strings.Fields("site from to cluster p")}
	if f.output != "" && !f.figure.Drawn() {
		if err := out.Plan(clusters.Path, clusters.JSON(), marks.Path, marks.JSON()); err != nil {
			return err
		}
	}
	found, err := f.compare(a, c, groups, head)
	if err != nil {
		return err
	}
	found.Declaration = f.declared.Of(c, found.Titles, slices.Concat(groups[0].People, groups[1].People))
	clusters.Rows, marks.Rows = clusterCells(found), markCells(found)
	made := a.Provenance(c, slices.Concat(averages.Sources(tables.Averages), head.Sources, f.declared.Sources()))
	made.Settings["declaration"] = found.Declaration
	var earlier []string
	if f.output != "" {
		earlier = declared.Earlier(f.output, made)
	}
	switch {
	case f.figure.Drawn():
		err = f.draw(c, out, found, head, clusters, made)
	case f.output == "":
		err = console.Table(a.Stdout, clusters.Columns, clusters.Rows)
	default:
		err = f.save(c, out, clusters, marks, found, made)
	}
	if err != nil {
		return err
	}
	w := a.Summary(f.output == "")
	for _, line := range append(found.Lines(), earlier...) {
		console.Say(w, "%s\n", line)
	}
	if f.output != "" && !f.figure.Drawn() && len(marks.Rows) > 0 {
		console.Say(w, "Next: calotte map … --field t --mark %s\n", marks.Path)
	}
	return nil
}

// groups finds the two conditions or groups among the inputs.
func (f *compareFlags) groups(ctx context.Context, t *averages.Tables) ([2]contrast.Group, error) {
	var samples []contrast.Sample
	for i, avg := range t.Averages {
		sample := contrast.Sample{Average: avg}
		if avg.Info.Kind == average.GrandAverage {
			people, read, err := t.Members(ctx, i)
			if err != nil {
				return [2]contrast.Group{}, err
			}
			t.Files = append(t.Files, read...)
			sample.Units = people
		}
		samples = append(samples, sample)
	}
	groups, err := contrast.Groups(samples)
	if already, ok := errors.AsType[*contrast.DifferenceError](err); ok {
		err = fmt.Errorf("%s %s", t.Paths[already.Index], already.Problem())
	}
	return groups, err
}

// compare runs the test that is asked for.
func (f *compareFlags) compare(a *app, c *cobra.Command, groups [2]contrast.Group,
	head *wearer.Head) (*contrast.Compared, error) {
	asked := f.comparison(a, c)
	asked.Groups, asked.Place = groups, head.Sites
	found, err := asked.Run(c.Context())
	if _, ok := errors.AsType[*contrast.SitesError](err); ok {
		err = fmt.Errorf("%w: add --shared to test those that all have, or calotte combine --onto first", err)
	}
	if _, ok := errors.AsType[*contrast.SpanError](err); ok {
		err = fmt.Errorf("--during %w", err)
	}
	return found, err
}

// comparison is the test that the flags ask for, of nobody yet.
func (f *compareFlags) comparison(a *app, c *cobra.Command) contrast.Comparison {
	asked := contrast.Comparison{Shared: f.shared, Correct: f.correct, Level: f.level,
		Test: inference.Options{Arrangements: f.arrangements, Seed: a.Seed}}
	if c.Flags().Changed("during") {
		asked.During = &f.during
	}
	return asked
}

// clusterCells are the rows of the table of clusters.
func clusterCells(found *contrast.Compared) [][]string {
	var rows [][]string
	for k, c := range found.Clusters {
		var names []string
		for _, s := range c.Sites {
			names = append(names, s.Site)
		}
		rows = append(rows, []string{
			strconv.Itoa(k + 1), c.Sign(), decimals(c.Mass, 3), decimals(c.P, 6), decimals(c.From, 6),
			decimals(c.To, 6), strings.Join(names, ","),
			decimals(c.Peak.T, 3), c.Peak.Site, decimals(c.Peak.Time, 6),
		})
	}
	return rows
}

// markCells are the sites of the clusters that are shown, for map --mark.
func markCells(found *contrast.Compared) [][]string {
	var rows [][]string
	for k, c := range found.Clusters {
		if !c.Shown() {
			continue
		}
		for _, s := range c.Sites {
			rows = append(rows, []string{s.Site, decimals(s.From, 6), decimals(s.To, 6),
				strconv.Itoa(k + 1),
				decimals(c.P, 6)})
		}
	}
	return rows
}

func (f *compareFlags) save(c *cobra.Command, out *disk.Files, clusters, marks averages.SavedTable,
	found *contrast.Compared, made provenance.Record) error {
	record := averages.TableRecord{
		What: "clusters of " + found.Title, Words: found.Sentences(), Remarks: []string{found.Caution()},
		Provenance: made, Synthetic: found.Synthetic,
	}
	if err := clusters.Put(out, record); err != nil {
		return err
	}
	if len(marks.Rows) == 0 { // those of an earlier run would mark what this one does not find
		out.Drop(marks.Path)
		out.Drop(marks.JSON())
		return out.Write(c.Context())
	}
	record.What, record.Words = "sites of the clusters of p 0.05 or less, of "+found.Title, nil
	if err := marks.Put(out, record); err != nil {
		return err
	}
	return out.Write(c.Context())
}
