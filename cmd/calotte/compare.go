package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
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

// A side is one of the two things compared: a condition, or a group.
type side struct {
	title  string
	people []*erp.Average
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

func (f *compareFlags) save(a *app, c *cobra.Command, out *console.Files, clusters, marks savedTable, p *prepared, sources []erp.Source) error {
	record := tableRecord{
		What: "clusters of " + p.title, Remarks: []string{extentCaution}, Provenance: a.provenance(c, sources), Synthetic: p.synthetic,
	}
	if err := clusters.put(out, record); err != nil {
		return err
	}
	if len(marks.rows) == 0 { // those of an earlier run would mark what this one does not find
		out.Drop(marks.path)
		out.Drop(marks.json())
		return out.Write()
	}
	record.What = "sites of the clusters of p 0.05 or less, of " + p.title
	if err := marks.put(out, record); err != nil {
		return err
	}
	return out.Write()
}

// sides finds the two conditions or groups among the inputs.
func (f *compareFlags) sides(t *tables) ([2]side, error) {
	var out [2]side
	var list []side
	add := func(title string, people ...*erp.Average) {
		k := slices.IndexFunc(list, func(s side) bool { return s.title == title })
		if k < 0 {
			list, k = append(list, side{title: title}), len(list)
		}
		list[k].people = append(list[k].people, people...)
	}
	grand := 0
	for i, avg := range t.averages {
		if avg.Info.Kind != erp.GrandAverage {
			add(avg.Info.Title(), avg)
			continue
		}
		grand++
		people, read, err := archive.LoadMembers(t.paths[i], avg.Info, append([]string{filepath.Dir(t.paths[i])}, f.folders...))
		if err != nil {
			return out, err
		}
		if avg.Info.Minus != "" {
			return out, fmt.Errorf("%s is a difference already: give the two conditions that it is of", t.paths[i])
		}
		t.files = append(t.files, read...)
		title := avg.Info.Title()
		if len(t.averages) == 2 && grand == 2 && list[0].title == title {
			title, list[0].title = title+", "+avg.Info.Name, list[0].title+", "+t.averages[0].Info.Name // two groups
		}
		add(title, people...)
	}
	if len(list) != 2 {
		var titles []string
		for _, s := range list {
			titles = append(titles, fmt.Sprintf("%s (%d)", s.title, len(s.people)))
		}
		return out, fmt.Errorf("compare takes two conditions or groups, and there are %d: %s", len(list), strings.Join(titles, ", "))
	}
	copy(out[:], list)
	return out, nil
}

// prepared is what a test needs.
type prepared struct {
	design     inference.Design
	paired     bool
	data       *mat.Dense // person × (site·samples + sample)
	sites      []string
	times      []float64
	neighbours [][]int
	title      string // "known minus novel"
	matching   string
	synthetic  bool
	reference  string
	extent     string // "12 people"
	order      []int  // of the sites in a picture
}

// prepare matches people, and lays their values out.
func (f *compareFlags) prepare(a *app, c *cobra.Command, sides [2]side, head *headModel) (*prepared, error) {
	p := &prepared{title: sides[0].title + " minus " + sides[1].title}
	everyone := slices.Concat(sides[0].people, sides[1].people)
	first := everyone[0]
	for _, avg := range everyone {
		p.synthetic = p.synthetic || avg.Info.Synthetic
		if !slices.Equal(avg.Times, first.Times) {
			return nil, fmt.Errorf("%s (%s) and %s (%s) have other samples: bring all to one rate and epoch", first.Info.Name, first.Info.Title(), avg.Info.Name, avg.Info.Title())
		}
	}
	if err := p.shareSites(everyone, f.shared); err != nil {
		return nil, err
	}
	rows, err := p.match(sides)
	if err != nil {
		return nil, err
	}
	if !c.Flags().Changed("during") {
		f.during = unit.Span{From: 0, To: unit.Time(first.Times[len(first.Times)-1])}
	}
	from, to := len(first.Times), 0
	for i, t := range first.Times {
		if t >= float64(f.during.From)-1e-9 && t <= float64(f.during.To)+1e-9 {
			from, to = min(from, i), i+1
		}
	}
	if to-from < 1 {
		return nil, fmt.Errorf("--during %v holds no sample: the averages reach from %.4g to %.4g s", f.during, first.Times[0], first.Times[len(first.Times)-1])
	}
	p.times = first.Times[from:to]
	p.data = mat.NewDense(len(rows), len(p.sites)*len(p.times), nil)
	for i, values := range rows {
		for s, name := range p.sites {
			copy(p.data.RawRowView(i)[s*len(p.times):], values(name)[from:to])
		}
	}
	sites, err := head.sites(p.sites)
	if err != nil {
		return nil, err
	}
	p.order, p.reference = frontToBack(sites), first.Info.Reference
	p.extent = fmt.Sprintf("%d people", len(rows))
	if !p.paired {
		p.extent = fmt.Sprintf("%d and %d people", len(sides[0].people), len(sides[1].people))
	}
	var positions []r3.Vec
	for _, s := range sites {
		positions = append(positions, s.Position)
	}
	p.neighbours, err = inference.Neighbours(positions)
	return p, err
}

// shareSites are the sites of all people, in the order of the first.
func (p *prepared) shareSites(everyone []*erp.Average, some bool) error {
	var missing []string
	for _, s := range everyone[0].Sites {
		all := true
		for _, avg := range everyone {
			if siteRow(avg, s) == nil {
				all = false
				missing = append(missing, fmt.Sprintf("%s lacks %s", avg.Info.Name, s))
			}
		}
		if all {
			p.sites = append(p.sites, s)
		}
	}
	for _, avg := range everyone {
		for _, s := range avg.Sites {
			if siteRow(everyone[0], s) == nil {
				missing = append(missing, fmt.Sprintf("%s lacks %s", everyone[0].Info.Name, s))
			}
		}
	}
	slices.Sort(missing)
	missing = slices.Compact(missing)
	if len(missing) > 0 && !some {
		const most = 5
		text := strings.Join(missing[:min(most, len(missing))], "; ")
		if more := len(missing) - most; more > 0 {
			text += fmt.Sprintf(" and %d more", more)
		}
		return fmt.Errorf("people have other sites: %s: add --shared to test those that all have, or calotte combine --onto first", text)
	}
	return nil
}

// siteRow is the values of a site, whatever its spelling; nil where there is none.
func siteRow(avg *erp.Average, name string) []float64 {
	if i := slices.Index(avg.Sites, name); i >= 0 {
		return avg.Mean[i]
	}
	for n, i := range siteIndex(avg.Sites) {
		if m, ok := siteIndex([]string{name})[n]; ok && m == 0 {
			return avg.Mean[i]
		}
	}
	return nil
}

// match pairs people by their labels, or keeps two groups whose labels all differ.
func (p *prepared) match(sides [2]side) (rows []func(site string) []float64, err error) {
	labels := [2]map[string]*erp.Average{{}, {}}
	for k, s := range sides {
		for _, avg := range s.people {
			if labels[k][avg.Info.Name] != nil {
				return nil, fmt.Errorf("%s is there twice in %s: give each person once", avg.Info.Name, s.title)
			}
			labels[k][avg.Info.Name] = avg
		}
	}
	var matched, left []string
	for k, s := range sides {
		for _, avg := range s.people {
			switch name := avg.Info.Name; {
			case labels[1-k][name] == nil:
				left = append(left, fmt.Sprintf("%s (%s)", name, s.title))
			case k == 0:
				matched = append(matched, name)
			}
		}
	}
	switch {
	case len(matched) > 0 && len(left) > 0:
		return nil, fmt.Errorf("people without a partner in the other condition: %s: leave them out", strings.Join(left, ", "))
	case len(matched) > 0:
		p.paired = true
		p.matching = "matched by label: " + strings.Join(matched, ", ")
		for _, name := range matched {
			a, b := labels[0][name], labels[1][name]
			rows = append(rows, func(site string) []float64 {
				one, two := siteRow(a, site), siteRow(b, site)
				out := make([]float64, len(one))
				for i := range one {
					out[i] = one[i] - two[i]
				}
				return out
			})
		}
		p.design, err = inference.Paired(len(rows))
	default:
		p.matching = fmt.Sprintf("two groups of %d and %d people", len(sides[0].people), len(sides[1].people))
		for _, s := range sides {
			for _, avg := range s.people {
				rows = append(rows, func(site string) []float64 { return siteRow(avg, site) })
			}
		}
		p.design, err = inference.Groups(len(sides[0].people), len(sides[1].people))
	}
	return rows, err
}

// A described cluster is what people want to know of it.
type described struct {
	inference.Cluster
	spans    []siteSpan
	from, to float64 // s
	peak     float64 // the largest |t|, with its sign
	site     string
	at       float64
}

type siteSpan struct {
	name     string
	from, to float64
}

func (p *prepared) describe(c inference.Cluster, t []float64) described {
	d := described{Cluster: c, from: math.Inf(1), to: math.Inf(-1)}
	n := len(p.times)
	for _, point := range c.Points {
		site, at := p.sites[point/n], p.times[point%n]
		if k := len(d.spans) - 1; k < 0 || d.spans[k].name != site {
			d.spans = append(d.spans, siteSpan{site, at, at})
		} else {
			d.spans[k].to = at
		}
		d.from, d.to = min(d.from, at), max(d.to, at)
		if math.Abs(t[point]) > math.Abs(d.peak) {
			d.peak, d.site, d.at = t[point], site, at
		}
	}
	return d
}

func (d described) sign() string {
	if d.Mass < 0 {
		return "negative"
	}
	return "positive"
}

func (d described) cells(k int) []string {
	var names []string
	for _, s := range d.spans {
		names = append(names, s.name)
	}
	return []string{
		strconv.Itoa(k + 1), d.sign(), decimals(d.Mass, 3), decimals(d.P, 6), decimals(d.from, 6), decimals(d.to, 6), strings.Join(names, ","),
		decimals(d.peak, 3), d.site, decimals(d.at, 6),
	}
}

// extentCaution is what a cluster's p does not say.
const extentCaution = "A cluster's p says that the two differ somewhere, not where or from when to when: its extent is not tested (Sassenhagen & Draschkow 2019)."

func (f *compareFlags) report(w io.Writer, sides [2]side, p *prepared, test *inference.Clusters, o inference.Options, marked bool) {
	fmt.Fprintf(w, "%s: %s\n", p.title, p.matching)
	const most = 5
	for k, c := range test.Clusters[:min(most, len(test.Clusters))] {
		d := p.describe(c, test.T)
		fmt.Fprintf(w, "  cluster %d   %s   %s to %s   %s   largest t %s at %s, %s   p* %.2g\n", k+1, d.sign(),
			millis(d.from), millis(d.to), console.Plural(len(d.spans), "site", "sites"), signed(d.peak), d.site, millis(d.at), c.P)
	}
	if more := len(test.Clusters) - most; more > 0 {
		fmt.Fprintf(w, "  and %d smaller\n", more)
	}
	switch {
	case len(test.Clusters) == 0 && f.correct != byClusters:
		fmt.Fprintf(w, "In words: this test does not show that %s and %s differ.\n", sides[0].title, sides[1].title)
	case len(test.Clusters) == 0:
		fmt.Fprintln(w, "In words: no point reaches the level, so there is no cluster.")
	case test.Clusters[0].P <= .05:
		fmt.Fprintf(w, "In words: %s and %s differ.\n", sides[0].title, sides[1].title)
	default:
		fmt.Fprintf(w, "In words: this test does not show that %s and %s differ.\n", sides[0].title, sides[1].title)
	}
	kind := fmt.Sprintf("%d arrangements drawn, seed %d", f.arrangements, o.Seed)
	if p.design.Exact(o) {
		kind = "all arrangements"
	}
	rule := map[correction]string{
		byClusters: fmt.Sprintf("by the largest cluster of |t| above %.3f", test.Threshold),
		byLargest:  "of single points, by the largest |t|; a cluster here is points of 0.05 or less",
		byRate:     "of single points, by the false discovery rate (Benjamini & Hochberg 1995); a cluster here is points of 0.05 or less",
	}[f.correct]
	fmt.Fprintf(w, "p*: %s, over %s and %s to %s; %s; the smallest p they allow is %.2g.\n",
		rule, console.Plural(len(p.sites), "site", "sites"), millis(p.times[0]), millis(p.times[len(p.times)-1]), kind, p.design.SmallestP(o))
	if f.correct == byClusters {
		fmt.Fprintln(w, extentCaution)
	}
	if f.output != "" && !f.drawn() && marked {
		fmt.Fprintf(w, "Next: calotte map … --field t --mark %s\n", strings.TrimSuffix(f.output, filepath.Ext(f.output))+"_marks.tsv")
	}
}

// millis is a time as people read it.
func millis(s float64) string {
	return unit.Latency{Span: unit.Span{From: unit.Time(s), To: unit.Time(s)}}.Label()
}
