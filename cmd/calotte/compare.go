package main

import (
	"errors"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/topo/erp"
	"calotte/topo/inference"
	"calotte/topo/unit"
)

type compareFlags struct {
	folders      []string
	during       unit.Span
	arrangements int
	correct      correction
	level        float64
	shared       bool
	head         headFlags
	positions    electrodesFlags
	clock        clockFlags
	rereference  rereferenceFlag
	output       string
	figure       figureFlags
}

func (a *app) compare() *cobra.Command {
	f := &compareFlags{arrangements: 5000, correct: byClusters, level: .05, figure: newFigureFlags()}
	c := &cobra.Command{
		Use:   "compare AVERAGE AVERAGE…",
		Short: "Test where and when two conditions or groups differ",
		Long: `Compare tests two conditions of the same people, matched by their labels, or two groups
of people, by permutation: clusters of neighbouring sites and samples whose t is large
(Maris & Oostenveld 2007), each with a p that is corrected over the whole head and time.

Give two grand averages, whose people are looked for beside them and in --in, or the
averages of the people themselves.

With -o NAME.tsv it writes the clusters, and NAME_marks.tsv with the sites of those of
p* 0.05 or less, which map marks: calotte map … --mark NAME_marks.tsv. With -o FILE.png,
.svg, .pdf or .tiff it draws t over sites and time, and maps of t where the clusters are
strongest, with their sites marked.`,
		Example: `  calotte compare calotte-demo/results/group/pilots_known_average.tsv calotte-demo/results/group/pilots_novel_average.tsv \
    --during 100..250ms --arrangements 1000 -o known-novel.tsv
  calotte compare calotte-demo/results/group/pilots_known_average.tsv calotte-demo/results/group/pilots_novel_average.tsv \
    --during 100..250ms --arrangements 1000 -o known-novel.png`,
		Args: inputs(2, "two averages or more"),
		RunE: func(c *cobra.Command, args []string) error { return a.runCompare(c, f, args) },
	}
	flags := c.Flags()
	flags.StringArrayVar(&f.folders, "in", nil, "`FOLDER` to look for participants in; repeat for more")
	flags.Var(&f.during, "during", "the time to look at (default: all after the event)")
	flags.IntVar(&f.arrangements, "arrangements", f.arrangements, "`N` to draw, where there are more")
	flags.Var(&f.correct, "correct", "clusters, or single points by largest (the largest |t| over all points) or fdr (false discovery rate)")
	flags.Float64Var(&f.level, "level", f.level, "`P` of a single point from which on it may join a cluster, two-sided")
	flags.BoolVar(&f.shared, "shared", false, "test the sites that all have, and leave the others out")
	f.head.register(c)
	f.positions.register(c, true)
	f.rereference.register(c)
	f.clock.register(c)
	f.figure.register(c)
	flags.Lookup("output").Usage = "`FILE`.tsv for the clusters, with a JSON and the marks beside it; .png, .svg, .pdf or .tiff for the figure"
	optional(flags, "during")
	groupFlags(c,
		flagGroup{"What", []string{"in", "during", "shared", "reference", "correct", "arrangements", "level"}},
		flagGroup{"What is written", []string{"output", "width", "dpi", "source-data"}},
		flagGroup{"The head", append([]string{"head", "electrodes"}, append(slices.Clone(tapeFlags), "scan", "landmarks", "scan-unit")...)},
	)
	return c
}

func (f *compareFlags) check(c *cobra.Command) error {
	f.output = f.figure.output
	if f.drawn() {
		if err := f.figure.check(c, "compare.png", 80); err != nil {
			return err
		}
	} else if set := given(c.Flags(), "width", "dpi", "source-data"); set != nil {
		return console.Usagef("--%s is for a figure: leave it out, or write one (-o compare.png)", set[0])
	}
	if f.arrangements < 99 || f.arrangements > 10_000_000 {
		return console.Usagef("--arrangements %d: expected 99 to 10000000", f.arrangements)
	}
	if !(f.level > 0 && f.level <= .2) {
		return console.Usagef("--level %v: expected a p such as 0.05", f.level)
	}
	return checkFolders(f.folders)
}

// drawn reports whether the output is a figure.
func (f *compareFlags) drawn() bool {
	return f.output != "" && strings.ToLower(filepath.Ext(f.output)) != ".tsv"
}

// correction is a flag that says how many tests at once are allowed for.
type correction string

const (
	byClusters correction = "clusters"
	byLargest  correction = "largest"
	byRate     correction = "fdr"
)

func (k *correction) Set(text string) error {
	switch v := correction(text); v {
	case byClusters, byLargest, byRate:
		*k = v
		return nil
	}
	return errors.New("expected clusters, largest or fdr")
}

func (k correction) String() string { return string(k) }
func (k correction) Type() string   { return "correction" }

// test is the one that is asked for. Of single points those of a corrected p of .05 or less
// are grouped with their neighbours, as clusters are.
func (f *compareFlags) test(p *prepared, o inference.Options) (*inference.Clusters, error) {
	if f.correct == byClusters {
		return inference.TestClusters(p.design, p.data, p.neighbours, f.level, o)
	}
	single, err := inference.TestLargest(p.design, p.data, o)
	if err != nil {
		return nil, err
	}
	corrected := single.Corrected
	if f.correct == byRate {
		corrected = inference.FalseDiscovery(single.P)
	}
	groups := inference.Group(single.T, corrected, func(i int) bool { return corrected[i] <= .05 }, p.neighbours)
	return &inference.Clusters{T: single.T, Clusters: groups}, nil
}

func (a *app) runCompare(c *cobra.Command, f *compareFlags, paths []string) error {
	if err := f.check(c); err != nil {
		return err
	}
	tables, err := f.clock.load(c, paths)
	if err != nil {
		return err
	}
	if err := f.rereference.apply(a, c, tables); err != nil {
		return err
	}
	sides, err := f.sides(tables)
	if err != nil {
		return err
	}
	head, err := f.head.read(a, c)
	if err != nil {
		return err
	}
	if err := head.measure(a, &f.positions); err != nil {
		return err
	}
	out := a.files(slices.Concat(tables.files, head.paths))
	clusters := savedTable{path: f.output, columns: strings.Fields("cluster sign mass p from to sites largest_t at_site at_time")}
	marks := savedTable{path: strings.TrimSuffix(f.output, filepath.Ext(f.output)) + "_marks.tsv", columns: strings.Fields("site from to cluster p")}
	if f.output != "" && !f.drawn() {
		if err := out.Plan(clusters.path, clusters.json(), marks.path, marks.json()); err != nil {
			return err
		}
	}
	p, err := f.prepare(a, c, sides, head)
	if err != nil {
		return err
	}
	o := inference.Options{Arrangements: f.arrangements, Seed: a.seed}
	test, err := f.test(p, o)
	if err != nil {
		return err
	}
	for k, cluster := range test.Clusters {
		r := p.describe(cluster, test.T)
		clusters.rows = append(clusters.rows, r.cells(k))
		if cluster.P <= .05 {
			for _, site := range r.spans {
				marks.rows = append(marks.rows, []string{site.name, decimals(site.from, 6), decimals(site.to, 6), strconv.Itoa(k + 1), decimals(cluster.P, 6)})
			}
		}
	}
	switch {
	case f.drawn():
		err = f.draw(a, c, out, p, test, head, clusters, slices.Concat(sources(tables.averages), head.sources))
	case f.output == "":
		err = console.Table(a.stdout, clusters.columns, clusters.rows)
	default:
		err = f.save(a, c, out, clusters, marks, p, slices.Concat(sources(tables.averages), head.sources))
	}
	if err != nil {
		return err
	}
	f.report(a.summary(f.output == ""), sides, p, test, o, len(marks.rows) > 0)
	return nil
}

func (f *compareFlags) save(a *app, c *cobra.Command, out *disk.Files, clusters, marks savedTable, p *prepared, sources []erp.Source) error {
	record := tableRecord{
		What: "clusters of " + p.title, Remarks: []string{extentCaution}, Provenance: a.provenance(c, sources), Synthetic: p.synthetic,
	}
	if err := clusters.put(out, record); err != nil {
		return err
	}
	if len(marks.rows) == 0 { // those of an earlier run would mark what this one does not find
		out.Drop(marks.path)
		out.Drop(marks.json())
		return out.Write(c.Context())
	}
	record.What = "sites of the clusters of p 0.05 or less, of " + p.title
	if err := marks.put(out, record); err != nil {
		return err
	}
	return out.Write(c.Context())
}
