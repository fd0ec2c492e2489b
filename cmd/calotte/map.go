package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"gonum.org/v1/plot/vg"

	"calotte/cmd/internal/console"
	"calotte/layout"
	"calotte/render"
	"calotte/render/canvas"
	"calotte/topo/erp"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

// A figure narrower than this has no room for its text, and no page is wider.
const (
	narrowest = unit.Length(40)  // mm
	widest    = unit.Length(400) // mm
)

type mapFlags struct {
	field  fieldFlags
	limit  string
	labels bool
	width  unit.Length
	output string
}

func (a *app) maps() *cobra.Command {
	f := mapFlags{field: newFieldFlags(), width: 180}
	c := &cobra.Command{
		Use:   "map AVERAGE…",
		Short: "Draw the field over the scalp at chosen latencies",
		Long: `Map draws a sheet: a row for each average, a column for each latency, all on one
colour scale. The ending of the output's name picks the format: .png, .svg or .pdf.

Left and right are the wearer's; the nose points up. Between the electrodes the field
is a spherical spline; where an electrode is far, the map is hatched.`,
		Example: `  calotte map calotte-demo/averages/pilots_*_average.tsv \
    --at 95ms,170ms,350ms --head calotte-demo/pilots_head.json -o maps.pdf
  calotte map calotte-demo/averages/pilots_known_average.tsv --at 150..190ms --field csd -o csd.png`,
		Args: inputs(1, "averages"),
		RunE: func(c *cobra.Command, args []string) error { return a.runMap(c, f, args) },
	}
	flags := c.Flags()
	f.field.register(c)
	flags.StringVar(&f.limit, "limit", "", "`VALUE` at the ends of the scale, such as 8uV (csd: 0.5uV/cm2)")
	flags.BoolVar(&f.labels, "labels", false, "name the sites")
	flags.Var(&f.width, "width", "of the figure; journals print 85mm, 114mm or 180mm")
	flags.StringVarP(&f.output, "output", "o", "", "`FILE`.png, .svg or .pdf")
	return c
}

func (a *app) runMap(c *cobra.Command, f mapFlags, paths []string) error {
	if err := required(c, "output", "-o maps.pdf"); err != nil {
		return err
	}
	format, err := canvas.ParseFormat(filepath.Ext(f.output))
	if err != nil {
		return console.Usagef("-o %s: %w", f.output, err)
	}
	limit, err := f.field.quantity.limit(f.limit)
	if err != nil {
		return err
	}
	if f.width < narrowest || f.width > widest {
		return console.Usagef("--width %v: expected %v to %v, such as 180mm", f.width, narrowest, widest)
	}
	fields, err := f.field.read(a, c, paths)
	if err != nil {
		return err
	}
	out := a.files(fields.inputs())
	if err := out.Plan(f.output); err != nil {
		return err
	}
	sheet, err := sheetOf(c.Context(), fields)
	if err != nil {
		return err
	}
	sheet.Limit, sheet.Labels, sheet.Width = limit, f.labels, vg.Length(f.width)*vg.Millimeter
	plate, err := sheet.Compose()
	if err != nil {
		return err
	}
	var figure bytes.Buffer
	if err := canvas.Write(&figure, plate, format, provenance(c, fields.sources())); err != nil {
		return err
	}
	if err := c.Context().Err(); err != nil {
		return err
	}
	out.Put(f.output, figure.Bytes())
	if err := out.Write(); err != nil {
		return err
	}
	reportMap(a.summary(false), f, sheet, plate)
	return nil
}

func reportMap(w io.Writer, f mapFlags, sheet *render.Sheet, plate *render.Plate) {
	unit := f.field.quantity.unit()
	maps := len(sheet.Rows) * len(sheet.Columns) * max(1, len(sheet.Views))
	fmt.Fprintf(w, "%s of %s → %s\n", console.Plural(maps, "map", "maps"), f.field.quantity.describe(), f.output)
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
		fmt.Fprintf(w, "  %sscale %s%s, %s\n", of, ends, strings.TrimSpace(fmt.Sprintf("%g %s", scale.Limit, unit)), contours)
	}
	fmt.Fprintf(w, "  left and right are the wearer's\n")
}

// sheetOf lays out a row for each average.
func sheetOf(ctx context.Context, f *fields) (*render.Sheet, error) {
	titles, err := f.titles()
	if err != nil {
		return nil, err
	}
	sheet := &render.Sheet{
		Quantity:  f.quantity.interpolated(),
		Head:      f.head.model,
		Reference: f.reference(),
		Digitised: f.head.measured != nil,
		Remarks:   f.remarks(titles),
	}
	for _, at := range f.at {
		sheet.Columns = append(sheet.Columns, at.Label())
	}
	for i, avg := range f.averages {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		row, err := f.row(i, avg, titles[i])
		if err != nil {
			return nil, err
		}
		sheet.Rows = append(sheet.Rows, row)
		sheet.Synthetic = sheet.Synthetic || avg.Info.Synthetic
	}
	switch f.quantity {
	case tValue:
		sheet.Shows, sheet.StandardError = render.TValues, 1
	case standardErrors:
		sheet.Shows = render.StandardErrors
	case agreement:
		sheet.Shows = render.Agreement
	}
	if f.quantity == potential { // what follows is in µV
		sheet.BaselinePower = f.baselinePower()
		sheet.StandardError, err = f.standardError()
	}
	return sheet, err
}

func (f *fields) row(i int, avg *erp.Average, title string) (render.Row, error) {
	spline, amplitudes, err := f.spline(avg)
	if err != nil {
		return render.Row{}, err
	}
	sites, err := f.head.sites(avg.Sites)
	if err != nil {
		return render.Row{}, err
	}
	row := render.Row{Title: title, Note: avg.Info.Extent(), Spline: spline, Values: amplitudes, Marks: marks(avg, sites), Difference: avg.Info.Minus != ""}
	if f.wantsUnits() {
		row.Spread, row.Freedom, err = f.spread(i)
	}
	return row, err
}

// marks draws repaired sites of a person's average open. In a grand average each
// site is measured in most people; the remarks say the rest.
func marks(avg *erp.Average, sites []layout.Site) []render.Mark {
	out := render.MeasuredAt(sites)
	if avg.Info.Kind == erp.GrandAverage {
		return out
	}
	for i := range out {
		if n, err := layout.Parse(sites[i].Name); err == nil && slices.Contains(avg.Info.Repaired, string(n)) {
			out[i].Kind = render.Repaired
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

// standardError is the median over the maps whose errors are known, in µV.
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
	return measure.Median(noise), nil
}

// remarks are what the reader has to know beside the maps. What does not hold for
// all rows begins with the row's title.
func (f *fields) remarks(titles []string) []string {
	var texts []string
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
