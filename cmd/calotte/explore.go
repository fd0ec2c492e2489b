package main

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/fields"
	"calotte/cmd/internal/figure"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/layout"
	"calotte/layout/rowtable"
	"calotte/render/page"
	"calotte/topo/erp/average"
)

type exploreFlags struct {
	averages     averages.Flags
	windows      figure.Windows
	spline       fields.Spline
	land         fields.Territory
	title        string
	mark         figure.Marks
	measures     string
	links        links
	participants bool
	serve        bool
	port         int
	output       string
}

func (a *app) explore() *cobra.Command {
	f := &exploreFlags{spline: fields.NewSpline(), land: fields.NewTerritory()}
	c := &cobra.Command{
		Use:   "explore AVERAGE…",
		Short: "Write an interactive page, or serve it",
		Long: `Explore writes one HTML file that opens anywhere, without a network: maps of all
conditions and their difference at a latency, waveforms with a cursor, left against right.
It can go with a paper as a supplement. What it shows stands in its address, and --link
lists such addresses on the page. Its fields are potentials, current densities and the
error of the interpolation. The error of sampling is told at the electrodes only: between
them it would take the averages of every person, which a page that is passed on is not to
hold (calotte map --field error has both).

With --serve it shows the page on this computer only, at a secret address that it prints,
and reads averages anew when they change.

A value picked by eye is not a test: calotte compare and calotte asymmetry test.`,
		Example: `  calotte explore calotte-demo/results/group/pilots_*_average.tsv --head calotte-demo/pilots_head.json \
    --link 'figure 1=#at=170ms&pair=P7,P8' -o study.html`,
		Args: session.AtLeast(1, "averages"),
		RunE: func(c *cobra.Command, args []string) error { return a.runExplore(c, f, args) },
	}
	flags := c.Flags()
	flags.StringVar(&f.title, "title", "", "`TEXT` at the top (default: the name of the averages)")
	f.windows.Register(c, "shown as brackets")
	f.mark.Register(c)
	flags.StringVar(&f.measures, "components", "",
		"`FILE`.tsv that calotte components wrote, shown beside the waveforms")
	flags.Var(&f.links, "link",
		"NAME=#STATE: an address of the page to go back to, such as 'figure 3=#at=170ms&pair=P7,P8'; "+
			"repeat for more")
	flags.BoolVar(&f.participants, "participants", false, "allow averages of single people in the page")
	f.averages.Register(c)
	f.spline.Register(c, "")
	f.land.Register(c)
	flags.BoolVar(&f.serve, "serve", false, "show the page from a server on this computer, instead of writing it")
	flags.IntVar(&f.port, "port", 0, "`NUMBER` of the port of --serve, 1024 to 65535 (default: any that is free)")
	session.Optional(flags, "port")
	flags.StringVarP(&f.output, "output", "o", "", "`FILE`.html")
	option.ShowGroups(c,
		option.Group{Title: "What",
			Names: []string{"title", "windows", "mark", "components", "link", "participants", "reference"}},
		option.Group{Title: "Where to", Names: []string{"output", "serve", "port"}},
		option.Group{Title: "What is not known", Names: []string{"overhang", "extrapolate"}},
		option.Group{Title: "The field", Names: []string{"spline-order", "spline-smoothing"}},
		option.Group{Title: "The head",
			Names: append([]string{"head", "electrodes"},
				append(slices.Clone(wearer.TapeFlags), "scan", "landmarks", "scan-unit")...)},
	)
	return c
}

// links is a flag that collects named states of the page.
type links []page.Link

func (l *links) Set(text string) error {
	name, state, ok := strings.Cut(text, "=")
	if name = strings.TrimSpace(name); !ok || name == "" || state == "" {
		return fmt.Errorf("%q: expected NAME=#STATE such as 'figure 3=#at=170ms&pair=P7,P8'", text)
	}
	*l = append(slices.Clone(*l), page.Link{Name: name, State: strings.TrimPrefix(state, "#")})
	return nil
}

func (l links) String() string {
	var texts []string
	for _, k := range l {
		texts = append(texts, k.Name+"=#"+k.State)
	}
	return strings.Join(texts, " ")
}
func (links) Type() string { return "link" }

// check finds what is wrong with the flags before any file is read.
func (f *exploreFlags) check(c *cobra.Command) error {
	flags := c.Flags()
	switch {
	case f.serve && flags.Changed("output"):
		return console.Usagef("--serve shows the page and -o writes it: give one of them")
	case !f.serve && flags.Changed("port"):
		return console.Usagef("--port is for --serve: add --serve, or leave it out")
	case flags.Changed("port") && (f.port < 1024 || f.port > 65535):
		return console.Usagef("--port %d: expected 1024 to 65535; without --port any that is free", f.port)
	case f.spline.Smoothing.Find:
		return console.Usagef("--spline-smoothing gcv is for maps of a few latencies: give the number " +
			"that map says")
	case f.measures != "" && flags.Changed("reference"):
		return console.Usagef("--components were measured against the averages' own reference: leave " +
			"--reference " +
			"out, or re-reference the averages first")
	}
	if err := cmp.Or(f.spline.Check(), f.land.Check()); err != nil || f.serve {
		return err
	}
	if err := session.Required(c, "output", "-o study.html"); err != nil {
		return err
	}
	if ext := strings.ToLower(filepath.Ext(f.output)); ext != ".html" && ext != ".htm" {
		return console.Usagef("-o %s: expected a name that ends in .html", f.output)
	}
	return nil
}

func (a *app) runExplore(c *cobra.Command, f *exploreFlags, paths []string) error {
	if err := f.check(c); err != nil {
		return err
	}
	if f.serve {
		return a.serve(c, f, paths)
	}
	study, read, err := a.study(c, f, paths)
	if err != nil {
		return err
	}
	out := a.Files(read)
	if err := out.Plan(f.output); err != nil {
		return err
	}
	var b bytes.Buffer
	if err := page.Write(&b, study); err != nil {
		return err
	}
	if err := c.Context().Err(); err != nil {
		return err
	}
	out.Put(f.output, b.Bytes())
	if err := out.Write(c.Context()); err != nil {
		return err
	}
	console.Say(a.Summary(false), "%s, %s, %s → %s (%.1f MB)\n  open it in a browser: it needs no network\n",
		console.Plural(len(study.Conditions), "average", "averages"),
		console.Plural(len(study.Sites), "site", "sites"),
		console.Plural(len(study.Times), "sample", "samples"), f.output, float64(b.Len())/1e6)
	return nil
}

// study reads what the page shows, and says which files were read.
func (a *app) study(c *cobra.Command, f *exploreFlags, paths []string) (study *page.Study, read []string, err error) {
	for _, r := range []func() error{f.mark.Read, f.windows.Read} {
		if err := r(); err != nil {
			return nil, nil, err
		}
	}
	tables, err := f.averages.Read(a.Session, c, paths)
	if err != nil {
		return nil, nil, err
	}
	if err := f.alike(tables); err != nil {
		return nil, nil, err
	}
	first := tables.Averages[0]
	fields, err := f.spline.Read(a.Session, c, tables, fields.When{Windows: f.windows})
	if err != nil {
		return nil, nil, err
	}
	study = &page.Study{Title: f.title, Times: first.Times, Head: fields.Head.Model, Reference: fields.Reference(),
		Digitised: fields.Head.Measured != nil, Links: f.links,
		Overhang: float64(f.land.Overhang), Extrapolate: f.land.Extrapolate}
	if study.Sites, err = fields.Head.Sites(first.Sites); err != nil {
		return nil, nil, err
	}
	if study.Spline, err = fields.Spline(first); err != nil {
		return nil, nil, err
	}
	titles, err := fields.Titles()
	if err != nil {
		return nil, nil, err
	}
	for i, avg := range fields.Averages {
		study.Conditions = append(study.Conditions, conditionOf(avg, titles[i], study.Sites))
		study.Synthetic = study.Synthetic || avg.Info.Synthetic
	}
	differencesOf(study.Conditions, fields.Averages)
	if study.Title == "" {
		study.Title = first.Info.Name + ": " + strings.Join(titles, ", ")
	}
	for _, w := range f.windows.Declared {
		study.Windows = append(study.Windows,
			page.Window{Name: w.Name, From: float64(w.Span.From), To: float64(w.Span.To)})
	}
	study.Remarks = fields.Remarks(titles)
	if f.windows.Path == "" {
		study.Remarks = study.Remarks[1:] // of latencies, which are the reader's own here
	}
	if err := f.singleOut(study, fields); err != nil {
		return nil, nil, err
	}
	sources := fields.Sources()
	read = slices.Concat(fields.Inputs(), f.mark.Paths)
	if f.mark.Path != "" {
		sources = append(sources, f.mark.Source)
	}
	if f.measures != "" {
		text, err := disk.ReadFile(f.measures)
		if err != nil {
			return nil, nil, err
		}
		var names []string
		for _, avg := range fields.Averages {
			names = append(names, avg.Info.Name)
		}
		if study.Measures, err = measuresOf(text, names); err != nil {
			return nil, nil, fmt.Errorf("%s: %w", f.measures, err)
		}
		read, sources = append(read, f.measures), append(sources, archive.Source(f.measures, text))
	}
	if study.Methods, err = a.methodsText(c.Context(), tables.Paths); err != nil {
		return nil, nil, err
	}
	study.Made = a.Provenance(c, sources)
	return study, read, nil
}

// alike refuses averages that one page cannot show, and single people who were
// not asked for.
func (f *exploreFlags) alike(t *averages.Tables) error {
	first := t.Averages[0]
	for i, avg := range t.Averages {
		switch {
		case !slices.Equal(avg.Times, first.Times):
			return fmt.Errorf("%s and %s have other samples: show averages of one rate and epoch",
				t.Paths[0],
				t.Paths[i])
		case !slices.Equal(avg.Sites, first.Sites):
			return fmt.Errorf("%s and %s have other sites: bring them to the same first (calotte combine "+
				"--onto 10-10)",
				t.Paths[0], t.Paths[i])
		case avg.Info.Kind == average.Participant && !f.participants:
			return fmt.Errorf("%s is of one person, and the page may be passed on: give grand "+
				"averages, or add "+
				"--participants", t.Paths[i])
		}
	}
	return nil
}

func conditionOf(avg *average.Average, title string, sites []layout.Site) page.Condition {
	c := page.Condition{Title: title, Name: avg.Info.Name, Label: avg.Info.Condition, Note: avg.Info.Extent(),
		Values: avg.Mean, Errors: avg.SEM}
	if half, err := quantile95(avg); err == nil {
		c.Half, c.Over = half, overWhat(avg.Info)
	}
	for _, m := range fields.Marks(avg, sites) {
		c.Marks = append(c.Marks, m.Kind)
	}
	if avg.Pairs.SEM == nil {
		return c
	}
	for _, p := range layout.Pairs(avg.Sites) {
		if k := slices.Index(avg.Pairs.Names, average.PairName(avg.Sites, p)); k >= 0 {
			c.PairErrors = append(c.PairErrors, avg.Pairs.SEM[k])
		}
	}
	return c
}

// overWhat says what an average's errors are over.
func overWhat(i average.Info) string {
	if i.Kind == average.GrandAverage {
		return console.Plural(len(i.Members), "person", "people")
	}
	return console.Plural(i.Epochs.Kept, "epoch", "epochs")
}

// differencesOf tells each difference which of the other conditions it is of.
func differencesOf(conditions []page.Condition, averages []*average.Average) {
	titleOf := func(condition string, of average.Info) string {
		for i, avg := range averages {
			if avg.Info.Minus == "" && avg.Info.Condition == condition && avg.Info.Name == of.Name {
				return conditions[i].Title
			}
		}
		return condition
	}
	for i, avg := range averages {
		if avg.Info.Minus != "" {
			conditions[i].Of, conditions[i].Minus = titleOf(avg.Info.Condition, avg.Info),
				titleOf(avg.Info.Minus,
					avg.Info)
		}
	}
}

// singleOut carries the table of marks over.
func (f *exploreFlags) singleOut(study *page.Study, read *fields.Fields) error {
	if f.mark.Path == "" {
		return nil
	}
	if missing := f.mark.Missing(read.Averages[0].Sites); missing != nil {
		return fmt.Errorf("%s marks %s, which the averages do not have: expected their sites", f.mark.Path,
			strings.Join(missing, ", "))
	}
	index := layout.Rows(read.Averages[0].Sites)
	for _, k := range f.mark.Marked {
		study.Chosen = append(study.Chosen,
			page.Chosen{Site: index[k.Site], From: float64(k.Span.From), To: float64(k.Span.To)})
	}
	study.Choice = f.mark.Choice()
	return nil
}

// shownMeasures are the columns of a table of components that the page shows.
var shownMeasures = []string{"name", "component", "condition", "site", "mean", "mean_se", "peak", "peak_se",
	"peak_latency", "onset", "note"}

// measuresOf reads a table of components, of which rows about others than the
// named stay out: a page of a group is not to hold single people.
func measuresOf(text []byte, names []string) (page.Table, error) {
	var out page.Table
	t, err := rowtable.Read(bytes.NewReader(text), "name", "condition", "component", "site")
	if err != nil {
		return out, err
	}
	for _, name := range shownMeasures {
		if t.Has(name) {
			out.Columns = append(out.Columns, name)
		}
	}
	for _, row := range t.Rows {
		if !slices.Contains(names, row.Text("name")) {
			continue
		}
		var cells []string
		for _, name := range out.Columns {
			cells = append(cells, row.Text(name))
		}
		out.Rows = append(out.Rows, cells)
	}
	if out.Rows == nil {
		return out, fmt.Errorf("no row is of %s: measure the averages that the page shows",
			strings.Join(slices.Compact(slices.Sorted(slices.Values(names))), ", "))
	}
	return out, nil
}

// methodsText is the paragraphs about averages; a table that says nothing of
// itself has none.
func (a *app) methodsText(ctx context.Context, paths []string) (string, error) {
	for _, path := range paths {
		if _, err := archive.ReadOrigin(path); err != nil {
			if errors.Is(err, archive.ErrSilent) || errors.Is(err, fs.ErrNotExist) {
				return "", nil
			}
			return "", err
		}
	}
	g, err := a.gather(ctx, paths, nil)
	if err != nil {
		return "", err
	}
	return strings.Join(g.account.Paragraphs(), "\n\n") + "\n", nil
}
