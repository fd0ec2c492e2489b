package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
	"calotte/layout"
	"calotte/topo/erp"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

type componentsFlags struct {
	at          componentWindows
	units       fieldFlags // for unitsOf: the reference and the folders
	sites       names
	pools       pools
	fraction    float64
	onset       float64
	prefix      string
	eachEpoch   bool
	format      format
	output      string
	clock       clockFlags
	rereference rereferenceFlag
}

// componentWindows are where components are looked for: on the command line, or declared.
type componentWindows struct {
	windows  windowNames
	declared windowsFlag
	polarity measure.Polarity
	from     windowSource
	half     unit.Time
}

// windowSource is a flag that says where windows come from.
type windowSource string

const (
	asGiven       windowSource = "as-given"
	allConditions windowSource = "all-conditions"
)

func (w *windowSource) Set(text string) error {
	switch k := windowSource(text); k {
	case asGiven, allConditions:
		*w = k
		return nil
	}
	return errors.New("expected as-given or all-conditions")
}

func (w windowSource) String() string { return string(w) }
func (w windowSource) Type() string   { return "source" }

func (a *app) components() *cobra.Command {
	f := &componentsFlags{fraction: .5, onset: .5}
	f.at.from, f.at.half = asGiven, .02
	c := &cobra.Command{
		Use:   "components AVERAGE…",
		Short: "Measure amplitudes and latencies in windows",
		Long: `Components measures each average at sites or pools in windows: the mean, the peak and its
latency (a local one of the polarity, which exceeds the mean of the 12 ms on each side,
refined between samples), the onset (backwards from the peak to a fraction of it), the
area of the polarity and when a fraction of it is reached. A row of the field power
(Lehmann & Skrandies 1980) has its own peak, and how unlike the map is to that of the first
average: 0 for one shape, 2 for opposite ones.

Standard errors are over people or epochs, where those behind an average are at hand, by
the jackknife (of the mean it is the usual one; of one person's epochs it is the
measurement error). The table has a row for
each average, window and site, and NA where there is nothing to measure, with the reason;
R and pandas read it as it is. --each-epoch has a row for each saved epoch instead, for
mixed models.`,
		Example: `  calotte components calotte-demo/results/group/pilots_known_average.tsv calotte-demo/results/group/pilots_novel_average.tsv \
    --window n170=150..190ms --polarity negative --of P7,P8
  calotte components calotte-demo/results/sub-*/sub-*_average.tsv --window 300..400ms --pool parietal=Pz,CPz,POz -o late.tsv`,
		Args: inputs(1, "averages"),
		RunE: func(c *cobra.Command, args []string) error { return a.runComponents(c, f, args) },
	}
	flags := c.Flags()
	flags.Var(&f.at.windows, "window", "[NAME=]RANGE to measure in, such as n170=150..190ms; repeat for more")
	f.at.declared.register(c, "with polarity and sites if wanted")
	flags.Var(&f.at.polarity, "polarity", "of the component: positive, negative or either; a file of windows has its own")
	flags.Var(&f.sites, "of", "SITE[,SITE] (default: those of the windows' file, or all)")
	flags.Var(&f.pools, "pool", "NAME=SITE,SITE: measure the mean of some sites; repeat for more")
	flags.Var(&f.at.from, "window-from", "as-given, or all-conditions: about the peak, in the window given, of the mean over all averages, so that the latency is found blind to condition")
	flags.Var(&f.at.half, "half-width", "with --window-from all-conditions: how far the window reaches from the peak")
	flags.Float64Var(&f.fraction, "fraction", f.fraction, "`SHARE` of the area whose latency is taken")
	flags.Float64Var(&f.onset, "onset", f.onset, "`SHARE` of the peak at which it begins")
	flags.StringVar(&f.prefix, "prefix", "", "`TEXT` before the names of components, where one is also a site's (P1, N1)")
	flags.BoolVar(&f.eachEpoch, "each-epoch", false, "a row for each saved epoch, with its mean")
	flags.StringArrayVar(&f.units.folders, "in", nil, "`FOLDER` to look for a grand average's participants in; repeat for more")
	f.rereference.register(c)
	f.clock.register(c)
	flags.Var(&f.format, "format", "of the table: tsv or json")
	flags.StringVarP(&f.output, "output", "o", "", "`FILE`.tsv for the table, with a JSON beside it")
	groupFlags(c,
		flagGroup{"What", []string{"window", "windows", "polarity", "of", "pool", "window-from", "half-width", "reference", "in", "each-epoch"}},
		flagGroup{"Definitions", []string{"fraction", "onset", "prefix"}},
		flagGroup{"What is written", []string{"output", "format"}},
	)
	return c
}

func (f *componentsFlags) check(c *cobra.Command) error {
	switch {
	case f.output != "" && strings.ToLower(filepath.Ext(f.output)) != ".tsv":
		return console.Usagef("-o %s: expected a name that ends in .tsv", f.output)
	case f.output != "" && c.Flags().Changed("format"):
		return console.Usagef("--format is for the standard output: leave it out with -o")
	case len(f.at.windows) == 0 && f.at.declared.path == "":
		return console.Usagef("--window is missing: for example --window n170=150..190ms")
	case c.Flags().Changed("half-width") && (f.at.from == asGiven || f.at.half <= 0):
		return console.Usagef("--half-width %v: expected more than 0, with --window-from all-conditions", f.at.half)
	case !(f.fraction > 0 && f.fraction < 1):
		return console.Usagef("--fraction %v: expected a share such as 0.5", f.fraction)
	case !(f.onset > 0 && f.onset < 1):
		return console.Usagef("--onset %v: expected a share such as 0.5", f.onset)
	}
	return checkFolders(f.units.folders)
}

// list are the windows to measure in, with names that no site has.
func (f *componentsFlags) list() ([]measure.Window, error) {
	var out []measure.Window
	for _, w := range f.at.windows {
		out = append(out, measure.Window{Name: w.name, Span: w.span, Polarity: f.at.polarity})
	}
	for _, w := range f.at.declared.declared {
		if w.Polarity == measure.Either {
			w.Polarity = f.at.polarity
		}
		out = append(out, w)
	}
	for i, w := range out {
		out[i].Name = f.prefix + w.Name
		if _, err := layout.Parse(out[i].Name); err == nil {
			return nil, console.Usagef("the component %s has the name of a site: name it otherwise, or add a --prefix such as c_", out[i].Name)
		}
	}
	return out, nil
}

func (a *app) runComponents(c *cobra.Command, f *componentsFlags, paths []string) error {
	if err := f.check(c); err != nil {
		return err
	}
	if err := f.at.declared.read(); err != nil {
		return err
	}
	windows, err := f.list()
	if err != nil {
		return err
	}
	tables, err := f.clock.load(c, paths)
	if err != nil {
		return err
	}
	if err := f.rereference.apply(a, c, tables); err != nil {
		return err
	}
	f.units.rereference = f.rereference
	inputs := &fields{fieldFlags: &f.units, tables: tables}
	table := savedTable{path: f.output, columns: componentColumns}
	if f.eachEpoch {
		table.columns = epochColumns
	}
	out := a.files(slices.Concat(tables.files, f.at.declared.paths()))
	if f.output != "" {
		if err := out.Plan(table.path, table.json()); err != nil {
			return err
		}
	}
	found, err := f.blind(tables, windows)
	if err != nil {
		return err
	}
	for i := range tables.averages {
		if err := c.Context().Err(); err != nil {
			return err
		}
		rows, err := f.measured(inputs, i, found)
		if err != nil {
			return fmt.Errorf("%s: %w", tables.paths[i], err)
		}
		table.rows = append(table.rows, rows...)
	}
	if f.output == "" {
		err = f.print(a.stdout, table)
	} else {
		record := tableRecord{
			What: "components, in µV, s and µV·s", Remarks: []string{f.at.declared.remark("Windows")},
			Provenance: a.provenance(c, slices.Concat(sources(tables.averages), f.at.declared.sources())),
			Synthetic:  slices.ContainsFunc(tables.averages, func(a *erp.Average) bool { return a.Info.Synthetic }),
		}
		if err = table.put(out, record); err == nil {
			err = out.Write(c.Context())
		}
	}
	if err != nil {
		return err
	}
	w := a.summary(f.output == "")
	console.Say(w, "%s of %s; amplitudes in µV, latencies in s, areas in µV·s\n", console.Plural(len(table.rows), "row", "rows"), console.Plural(len(windows), "component", "components"))
	fmt.Fprintln(w, f.at.declared.remark("Windows"))
	return nil
}

func (f *componentsFlags) print(w io.Writer, t savedTable) error {
	if !f.format.json {
		return console.Table(w, t.columns, t.rows)
	}
	var rows []map[string]string
	for _, cells := range t.rows {
		row := map[string]string{}
		for i, c := range t.columns {
			row[c] = cells[i]
		}
		rows = append(rows, row)
	}
	return json.NewEncoder(w).Encode(rows)
}

var (
	componentColumns = strings.Fields("name condition component site polarity from to n over mean mean_se peak peak_se peak_latency peak_latency_se onset onset_se area area_se area_latency area_latency_se dissimilarity note")
	epochColumns     = strings.Fields("name condition component site epoch mean")
)

// places are the sites and pools of a window.
func (f *componentsFlags) places(sites []string, w measure.Window) ([]place, error) {
	t := tracesFlags{sites: f.sites, pools: f.pools}
	if len(t.sites)+len(t.pools) == 0 && len(w.Sites) > 0 {
		t.sites = sitesOf(w.Sites)
	}
	if len(t.sites)+len(t.pools) == 0 {
		t.sites = sitesOf(sites)
	}
	list, err := t.places(sites)
	for i := range list {
		if k := i - len(t.sites); k >= 0 {
			list[i].title = t.pools[k].name
		}
	}
	return list, err
}

func (f *componentsFlags) measured(inputs *fields, i int, windows []measure.Window) ([][]string, error) {
	avg := inputs.averages[i]
	units, read, err := inputs.unitsOf(i)
	if err != nil && (avg.Info.Kind != erp.GrandAverage || len(f.units.folders) > 0) {
		return nil, err
	} // a grand average without its people at hand has no errors, and that is all
	inputs.files = append(inputs.files, read...)
	if f.eachEpoch && (len(units) == 0 || avg.Info.Kind == erp.GrandAverage) {
		return nil, errors.New("--each-epoch needs the saved epochs of one person: average with --save-epochs")
	}
	var rows [][]string
	for _, w := range windows {
		places, err := f.places(avg.Sites, w)
		if err != nil {
			return nil, err
		}
		for _, p := range places {
			if f.eachEpoch {
				rows = append(rows, epochRows(avg, units, w, p)...)
				continue
			}
			rows = append(rows, f.row(avg, units, w, p))
		}
		if !f.eachEpoch {
			rows = append(rows, f.powerRow(avg, inputs.averages[0], w))
		}
	}
	return rows, nil
}

// powerRow is that of the field power: its mean and its peak in the window, and how unlike
// the window's mean map is to that of the first average.
func (f *componentsFlags) powerRow(avg, first *erp.Average, in measure.Window) []string {
	in.Polarity = measure.Positive
	s := f.scores(measure.Wave{Times: avg.Times, Values: fieldPower(avg)}, in)
	unlike := math.NaN()
	if avg != first && slices.Equal(avg.Sites, first.Sites) {
		one, err1 := avg.At(unit.Latency{Span: in.Span})
		two, err2 := first.At(unit.Latency{Span: in.Span})
		if err1 == nil && err2 == nil {
			unlike = measure.Dissimilarity(one, two)
		}
	}
	return f.cells(avg, in, "field power", s, scores{}, 0, "", unlike)
}

// blind replaces each window, where that is asked, by one about the peak of the mean over
// all averages, at the sites or pools together.
func (f *componentsFlags) blind(t *tables, windows []measure.Window) ([]measure.Window, error) {
	if f.at.from == asGiven {
		return windows, nil
	}
	first := t.averages[0]
	out := slices.Clone(windows)
	for i, w := range windows {
		total := make([]float64, len(first.Times))
		for k, avg := range t.averages {
			if !slices.Equal(avg.Times, first.Times) {
				return nil, fmt.Errorf("%s and %s have other samples: one latency for all needs the same", t.paths[0], t.paths[k])
			}
			places, err := f.places(avg.Sites, w)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", t.paths[k], err)
			}
			for _, p := range places {
				for j, v := range p.mean(avg.Mean) {
					total[j] += v / float64(len(places)*len(t.averages))
				}
			}
		}
		peak, err := (measure.Wave{Times: first.Times, Values: total}).Peak(w.Span, w.Polarity)
		if err != nil {
			return nil, fmt.Errorf("%s: the mean over all averages has %w: widen the window, or leave --window-from out", w.Name, err)
		}
		at := unit.Time(math.Round(peak.Latency*1e6) / 1e6)
		out[i].Span = unit.Span{From: at - f.at.half, To: at + f.at.half}
	}
	return out, nil
}

func epochRows(avg *erp.Average, units []*erp.Average, w measure.Window, p place) [][]string {
	var rows [][]string
	for k, u := range units {
		mean, err := measure.Wave{Times: avg.Times, Values: p.mean(u.Mean)}.Mean(w.Span)
		rows = append(rows, []string{avg.Info.Name, avg.Info.Title(), w.Name, p.title, strconv.Itoa(k + 1), orNA(mean, err)})
	}
	return rows
}
