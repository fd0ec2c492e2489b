package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
	"calotte/layout"
	"calotte/render/scalp"
	"calotte/topo/erp/average"
	"calotte/topo/measure"
)

type mapFlags struct {
	field   fieldFlags
	limit   string
	labels  bool
	views   viewsFlag
	spacing scalp.Spacing
	palette scalp.Palette
	form    scalp.Form
	scales  scalp.Scaling
	mark    markFlag
	figure  figureFlags
	spec    specFlag
}

func (a *app) maps() *cobra.Command {
	f := &mapFlags{field: newFieldFlags(), figure: newFigureFlags()}
	c := &cobra.Command{
		Use:   "map AVERAGE…",
		Short: "Draw the field over the scalp at chosen latencies",
		Long: `Map draws a sheet: a row for each average, a column for each latency, all on one
colour scale. The ending of the output's name picks the format: .png, .svg, .pdf or .tiff.

Left and right are the wearer's; seen from above, the nose points up. Between the
electrodes the field is a spherical spline; where an electrode is far, the map is hatched.

What would be a long command line may stand in a file (--spec), with the flags as keys.`,
		Example: `  calotte map calotte-demo/results/group/pilots_*_average.tsv \
    --at 95ms,170ms,350ms --head calotte-demo/pilots_head.json -o maps.pdf
  calotte map calotte-demo/results/group/pilots_known_average.tsv --at 150..190ms --field csd -o csd.png
  calotte map calotte-demo/results/group/pilots_known-novel_average.tsv --at 170ms \
    --view left,top,right --fade 2 -o sides.svg`,
		Args: f.spec.args(inputs(1, "averages")),
		RunE: func(c *cobra.Command, args []string) error {
			if f.spec.schema {
				return a.printSchema(c)
			}
			return a.runMap(c, f, f.spec.all(args))
		},
	}
	flags := c.Flags()
	f.field.register(c)
	f.field.windows.register(c, "a map of the mean of each")
	flags.StringVar(&f.limit, "limit", "", "`VALUE` at the ends of the scale, such as 8uV (csd: 0.5uV/cm2)")
	flags.Var(&f.scales, "scales", "sheet (one for all), row (one each) or difference (one for the differences)")
	flags.Var(&f.views, "view", "top, left, right, front, back, or several joined by commas")
	flags.Var(&f.spacing, "projection", "of the view from above: equidistant, equal-area or stereographic")
	flags.Var(&f.palette, "palette", "colour, or grey for print without colour")
	flags.Var(&f.form, "field-as", "shades (if left out), or bands: areas between contours, for journals that refuse pictures in line art")
	flags.Float64Var(&f.field.fade, "fade", 0, "the |`t`| below which maps pale, such as 2; needs what --field t needs")
	f.mark.register(c)
	flags.BoolVar(&f.labels, "labels", false, "name the sites")
	f.figure.register(c)
	f.spec.register(a, c)
	optional(flags, "view", "fade", "field-as")
	groupFlags(c,
		flagGroup{"What", []string{"at", "windows", "field", "reference", "in", "fade", "mark"}},
		flagGroup{"How it looks", []string{"view", "projection", "limit", "scales", "palette", "field-as", "labels", "width"}},
		flagGroup{"What is written", []string{"output", "dpi", "source-data", "spec", "spec-schema"}},
		flagGroup{"The field", []string{"spline-order", "spline-smoothing"}},
		flagGroup{"The head", append([]string{"head", "electrodes"}, append(slices.Clone(tapeFlags), "scan", "landmarks", "scan-unit")...)},
	)
	return c
}

// viewsFlag is a list of views.
type viewsFlag []scalp.View

func (v *viewsFlag) Set(text string) error {
	list := slices.Clone(*v)
	for name := range strings.SplitSeq(text, ",") {
		var view scalp.View
		if err := view.Set(strings.TrimSpace(name)); err != nil {
			return err
		}
		if slices.Contains(list, view) {
			return fmt.Errorf("view %v is given twice", view)
		}
		list = append(list, view)
	}
	*v = list
	return nil
}

func (v viewsFlag) String() string { return joined(v) }
func (v viewsFlag) Type() string   { return "views" }

// check finds what is wrong with the flags before any file is read.
func (f *mapFlags) check(c *cobra.Command) error {
	if err := f.figure.check(c, "maps.pdf", narrowest); err != nil {
		return err
	}
	if c.Flags().Changed("fade") && !(f.field.fade > 0 && f.field.fade < 100) {
		return console.Usagef("--fade %v: expected a |t| such as 2", f.field.fade)
	}
	if f.field.fade > 0 && f.field.quantity != potential && f.field.quantity != currentDensity {
		return console.Usagef("--fade is for potential and csd, which t says how sure they are: leave it out with --field %v", f.field.quantity)
	}
	if f.field.fade > 0 && f.form == scalp.Bands {
		return console.Usagef("--fade and --field-as bands: a band has one colour and cannot fade: leave one of them out")
	}
	return nil
}

func (a *app) runMap(c *cobra.Command, f *mapFlags, paths []string) error {
	if err := f.check(c); err != nil {
		return err
	}
	limit, err := f.field.quantity.limit(f.limit)
	if err != nil {
		return err
	}
	if err := f.mark.read(); err != nil {
		return err
	}
	fields, err := f.field.read(a, c, paths)
	if err != nil {
		return err
	}
	if err := a.bounded(mostMaps, len(fields.averages), len(f.field.at), max(1, len(f.views))); err != nil {
		return err
	}
	out := a.files(slices.Concat(fields.inputs(), f.mark.paths, f.spec.paths()))
	sheet, err := sheetOf(c.Context(), fields, &f.mark)
	if err != nil {
		return err
	}
	sheet.Limit, sheet.Labels, sheet.Width = limit, f.labels, f.figure.points()
	sheet.Views, sheet.Spacing, sheet.Palette, sheet.Scaling = f.views, f.spacing, f.palette, f.scales
	sheet.Form = f.form
	plate, err := sheet.Compose()
	if err != nil {
		return err
	}
	numbers := numbersOfMaps(plate, f.field.quantity)
	if err := f.figure.plan(out, numbers...); err != nil {
		return err
	}
	sources := slices.Concat(fields.sources(), f.spec.sources())
	if f.mark.path != "" {
		sources = append(sources, f.mark.source)
	}
	if err := f.figure.put(out, plate, a.provenance(c, sources), numbers...); err != nil {
		return err
	}
	if err := c.Context().Err(); err != nil {
		return err
	}
	if err := out.Write(c.Context()); err != nil {
		return err
	}
	reportMap(a.summary(false), f, sheet, plate)
	return nil
}

// numbersOfMaps are the potentials at the sites that all is made of, and the drawn field.
func numbersOfMaps(plate *scalp.Plate, drawn quantity) []numbersOf {
	return []numbersOf{
		{"sites", func() []byte {
			var b bytes.Buffer
			cells(&b, "row", "at", "name", "x", "y", "z", "value", "quantity")
			for n := range plate.AtSites() {
				cells(&b, n.Row, n.Column, n.Name, n.Place.X, n.Place.Y, n.Place.Z, n.Value, potential.named())
			}
			return b.Bytes()
		}},
		{"field", func() []byte {
			var b bytes.Buffer
			cells(&b, "row", "at", "view", "x", "y", "z", "value", "quantity")
			for n := range plate.Drawn() {
				cells(&b, n.Row, n.Column, n.Name, n.Place.X, n.Place.Y, n.Place.Z, n.Value, drawn.named())
			}
			return b.Bytes()
		}},
	}
}

func reportMap(w io.Writer, f *mapFlags, sheet *scalp.Sheet, plate *scalp.Plate) {
	unit := f.field.quantity.unit()
	maps := len(sheet.Rows) * len(sheet.Columns) * max(1, len(sheet.Views))
	console.Say(w, "%s of %s → %s\n", console.Plural(maps, "map", "maps"), f.field.quantity.describe(), f.figure.output)
	for _, scale := range plate.Scales {
		ends, of := "±", ""
		if scale.OneSided {
			ends = "0 to "
		}
		if scale.Of != "" {
			of = scale.Of + ": "
		}
		contours := strings.TrimSpace(fmt.Sprintf("contours every %g %s", scale.Step, unit))
		if !scale.Contoured() {
			contours = "only the contour of zero, since the limit is below twice the standard error"
		}
		console.Say(w, "  %sscale %s%s, %s\n", of, ends, strings.TrimSpace(fmt.Sprintf("%g %s", scale.Limit, unit)), contours)
	}
	console.Say(w, "  left and right are the wearer's\n")
}

// sheetOf lays out a row for each average.
func sheetOf(ctx context.Context, f *fields, mark *markFlag) (*scalp.Sheet, error) {
	titles, err := f.titles()
	if err != nil {
		return nil, err
	}
	sheet := &scalp.Sheet{
		Quantity:  f.quantity.interpolated(),
		Head:      f.head.model,
		Reference: f.reference(),
		Digitised: f.head.measured != nil,
		Remarks:   f.remarks(titles),
		Fade:      f.fade,
	}
	for _, at := range f.at {
		sheet.Columns = append(sheet.Columns, f.windows.label(at))
	}
	for i, avg := range f.averages {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		row, err := f.row(i, avg, titles[i])
		if err != nil {
			return nil, err
		}
		row.Chosen = mark.chosen(row.Marks, f.at)
		if missing := mark.missing(avg.Sites); missing != nil {
			return nil, fmt.Errorf("%s marks %s, which %s does not have: expected sites of the average", mark.path, strings.Join(missing, ", "), f.paths[i])
		}
		sheet.Rows = append(sheet.Rows, row)
		sheet.Synthetic = sheet.Synthetic || avg.Info.Synthetic
	}
	if mark.path != "" {
		sheet.Choice = mark.choice()
	}
	switch f.quantity {
	case tValue:
		sheet.Shows, sheet.StandardError = scalp.TValues, 1
	case standardErrors:
		sheet.Shows = scalp.StandardErrors
	case agreement:
		sheet.Shows = scalp.Agreement
	}
	if f.quantity == potential { // what follows is in µV
		sheet.BaselinePower = f.baselinePower()
		sheet.StandardError, err = f.standardError()
	}
	return sheet, err
}

func (f *fields) row(i int, avg *average.Average, title string) (scalp.Row, error) {
	spline, amplitudes, err := f.spline(avg)
	if err != nil {
		return scalp.Row{}, err
	}
	sites, err := f.head.sites(avg.Sites)
	if err != nil {
		return scalp.Row{}, err
	}
	row := scalp.Row{Title: title, Note: avg.Info.Extent(), Spline: spline, Values: amplitudes, Marks: marks(avg, sites), Difference: avg.Info.Minus != ""}
	if f.wantsUnits() {
		sample := f.sample(i)
		row.Freedom = sample.Freedom()
		row.Spread, err = sample.Spread(f.at)
	}
	return row, err
}

// marks draws repaired sites of a person's average open. In a grand average each
// site is measured in most people; the remarks say the rest.
func marks(avg *average.Average, sites []layout.Site) []scalp.Mark {
	out := scalp.MeasuredAt(sites)
	if avg.Info.Kind == average.GrandAverage {
		return out
	}
	for i := range out {
		if n, err := layout.Parse(sites[i].Name); err == nil && slices.Contains(avg.Info.Repaired, string(n)) {
			out[i].Kind = scalp.Repaired
		}
	}
	return out
}

// baselinePower is the largest of the averages whose baseline is known, in µV.
func (f *fields) baselinePower() float64 {
	most := 0.0
	for _, avg := range f.averages {
		if span, ok := avg.Info.BaselineSpan(); ok {
			most = max(most, measure.BaselinePower(avg.Times, avg.Mean, span))
		}
	}
	return most
}

// standardError is the median over the maps whose errors are known, in µV; 0 where none
// is.
func (f *fields) standardError() (float64, error) {
	var noise []float64
	for _, avg := range f.averages {
		for _, at := range f.at {
			sem, err := avg.NoiseAt(at)
			if err != nil {
				return 0, err
			}
			if !math.IsNaN(sem) {
				noise = append(noise, sem)
			}
		}
	}
	if len(noise) == 0 {
		return 0, nil
	}
	return measure.Median(noise), nil
}

// remarks are what the reader has to know beside the maps. What does not hold for
// all rows begins with the row's title.
func (f *fields) remarks(titles []string) []string {
	texts := []string{f.windows.remark("Latencies")}
	if f.head.assumed && f.head.measured == nil {
		texts = append(texts, fmt.Sprintf("No head was measured: a sphere of %.0f mm is assumed.", f.head.head.Circumference))
	}
	holds := map[string]int{}
	for _, avg := range f.averages {
		for _, r := range avg.Info.Remarks() {
			holds[r]++
		}
	}
	for i, avg := range f.averages {
		for _, r := range avg.Info.Remarks() {
			if holds[r] < len(f.averages) {
				r = titles[i] + ": " + r
			}
			if !slices.Contains(texts, r) {
				texts = append(texts, r)
			}
		}
		if avg.Info.Reference == "" && f.reference() != "" {
			texts = append(texts, fmt.Sprintf("The reference of %s is not known.", titles[i]))
		}
	}
	return texts
}
