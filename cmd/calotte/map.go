package main

import (
	"bytes"
	"fmt"
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
	"calotte/topo"
	"calotte/topo/erp"
	"calotte/topo/measure"
	"calotte/topo/unit"
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
	if f.width <= 0 {
		return console.Usagef("--width %v: expected more than 0, such as 180mm", f.width)
	}
	fields, err := f.field.read(a, c, paths)
	if err != nil {
		return err
	}
	out := a.files(paths)
	if err := out.Plan(f.output); err != nil {
		return err
	}
	sheet, err := sheetOf(fields)
	if err != nil {
		return err
	}
	sheet.Limit, sheet.Labels, sheet.Width = limit, f.labels, vg.Length(f.width)*vg.Millimeter
	plate, err := sheet.Compose()
	if err != nil {
		return err
	}
	var figure bytes.Buffer
	made := provenance(c, append(sources(fields.averages), fields.head.sources...))
	if err := canvas.Write(&figure, plate, format, made); err != nil {
		return err
	}
	out.Put(f.output, figure.Bytes())
	if err := out.Write(); err != nil {
		return err
	}
	w := a.summary(false)
	fmt.Fprintf(w, "%s of %s → %s\n", console.Plural(len(sheet.Rows)*len(sheet.Columns), "map", "maps"), f.field.quantity.describe(), f.output)
	fmt.Fprintf(w, "  scale ±%g %s, contours every %g %s\n", plate.Scale.Limit, f.field.quantity.unit(), plate.Scale.Step, f.field.quantity.unit())
	fmt.Fprintf(w, "  left and right are the wearer's\n")
	return nil
}

// sheetOf lays out a row for each average.
func sheetOf(f *fields) (*render.Sheet, error) {
	first := f.averages[0].Info
	sheet := &render.Sheet{
		Quantity:  topo.Quantity(f.quantity),
		Head:      f.head.model,
		Reference: known(first.Reference),
		Digitised: f.head.measured != nil,
	}
	if f.head.assumed && f.head.measured == nil {
		sheet.Remarks = append(sheet.Remarks, fmt.Sprintf("No head was measured: a sphere of %.0f mm is assumed.", f.head.head.Circumference))
	}
	for _, at := range f.at {
		sheet.Columns = append(sheet.Columns, at.Label())
	}
	var noise []float64
	for _, avg := range f.averages {
		spline, amplitudes, err := f.spline(avg)
		if err != nil {
			return nil, err
		}
		sites, err := f.head.sites(avg.Sites)
		if err != nil {
			return nil, err
		}
		sheet.Rows = append(sheet.Rows, render.Row{
			Title: title(avg, f.averages), Note: people(avg.Info), Spline: spline, Values: amplitudes,
			Marks: marks(avg, sites),
		})
		sheet.Synthetic = sheet.Synthetic || avg.Info.Synthetic
		sheet.BaselinePower = max(sheet.BaselinePower, baselinePower(avg))
		sheet.Remarks = appendNew(sheet.Remarks, repairs(avg.Info))
		for _, at := range f.at {
			sem, err := avg.NoiseAt(at)
			if err != nil {
				return nil, err
			}
			if !math.IsNaN(sem) {
				noise = append(noise, sem)
			}
		}
	}
	if f.quantity == quantity(topo.Potential) {
		sheet.StandardError = median(noise)
	} else {
		sheet.BaselinePower = 0 // it is in µV
	}
	return sheet, nil
}

func known(text string) string {
	if text == "not known" {
		return ""
	}
	return text
}

func appendNew(list []string, text string) []string {
	if text == "" || slices.Contains(list, text) {
		return list
	}
	return append(list, text)
}

// title names a row by what tells it from the others: condition, name or both.
func title(avg *erp.Average, all []*erp.Average) string {
	sameName, sameCondition := true, true
	for _, o := range all {
		sameName = sameName && o.Info.Name == avg.Info.Name
		sameCondition = sameCondition && o.Info.Title() == avg.Info.Title()
	}
	switch {
	case sameName:
		return avg.Info.Title()
	case sameCondition:
		return avg.Info.Name + ", " + avg.Info.Title()
	}
	return avg.Info.Title() + ", " + avg.Info.Name
}

// people says how much data is behind an average: "12 people, 78–99 epochs each".
func people(i erp.Info) string {
	if i.Kind != erp.GrandAverage {
		if i.Epochs == nil {
			return ""
		}
		return console.Plural(i.Epochs.Kept, "epoch", "epochs")
	}
	text := console.Plural(len(i.Members), "person", "people")
	least, most := math.MaxInt, 0
	for _, m := range i.Members {
		least, most = min(least, m.Epochs), max(most, m.Epochs)
	}
	switch {
	case least <= 0:
		return text
	case least == most:
		return fmt.Sprintf("%s, %d epochs each", text, most)
	}
	return fmt.Sprintf("%s, %d–%d epochs each", text, least, most)
}

// marks draws repaired sites of a person's average open. In a grand average each
// site is measured in most people; repairs says the rest.
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

// repairs says in how many members of a grand average sites were repaired.
func repairs(i erp.Info) string {
	if i.Kind != erp.GrandAverage || len(i.Repaired) == 0 {
		return ""
	}
	n := 0
	for _, m := range i.Members {
		if len(m.Repaired) > 0 {
			n++
		}
	}
	return fmt.Sprintf("Repaired by the spline: %s, in %d of %d people.", strings.Join(i.Repaired, ", "), n, len(i.Members))
}

// baselinePower is the mean field power over the baseline in µV, zero where no
// baseline is known.
func baselinePower(avg *erp.Average) float64 {
	var span unit.Span
	if span.Set(avg.Info.Baseline) != nil {
		return 0
	}
	sum, n := 0.0, 0
	column := make([]float64, len(avg.Sites))
	for t, time := range avg.Times {
		if !span.Contains(unit.Time(time)) {
			continue
		}
		for i, row := range avg.Mean {
			column[i] = row[t]
		}
		sum += measure.FieldPower(column)
		n++
	}
	if n == 0 {
		return 0
	}
	return sum / float64(n)
}

// median of a few numbers, zero of none.
func median(values []float64) float64 {
	if len(values) == 0 {
		return 0
	}
	slices.Sort(values)
	return (values[len(values)/2] + values[(len(values)-1)/2]) / 2
}
