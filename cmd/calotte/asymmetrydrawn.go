package main

import (
	"bytes"
	"fmt"
	"math"
	"slices"

	"github.com/spf13/cobra"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
	"gonum.org/v1/plot/vg"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/render"
	"calotte/render/canvas"
	"calotte/topo"
	"calotte/topo/erp"
	"calotte/topo/measure"
)

// draw draws maps, intervals and waveforms of an average's first latency.
func (f *asymmetryFlags) draw(a *app, c *cobra.Command, out *disk.Files, fields *fields, rows []asymmetryRow) error {
	if len(f.field.at) > 1 {
		return console.Usagef("a figure shows one latency, not %d: draw one after the other", len(f.field.at))
	}
	maps, err := f.maps(c, fields)
	if err != nil {
		return err
	}
	width := f.figure.points()
	maps.Width = width
	plate, err := maps.Compose()
	if err != nil {
		return err
	}
	pairs, err := intervalsOf(rows, width).Compose()
	if err != nil {
		return err
	}
	waves, err := f.waves(fields, rows[0], width)
	if err != nil {
		return err
	}
	curves, err := waves.Compose()
	if err != nil {
		return err
	}
	stack := &render.Stack{Name: "Left against right, " + maps.Rows[0].Title, Figures: []canvas.Figure{plate, pairs, curves}}
	if err := stack.Validate(); err != nil {
		return err
	}
	numbers := append(numbersOfTraces(waves), numbersOf{"pairs", func() []byte {
		var b bytes.Buffer
		if err := console.Table(&b, asymmetryColumns, cellsOfRows(rows)); err != nil {
			return nil // a buffer takes everything
		}
		return b.Bytes()
	}})
	if err := f.figure.plan(out, numbers...); err != nil {
		return err
	}
	if err := f.figure.put(out, stack, a.provenance(c, slices.Concat(fields.sources(), f.cap.sources())), numbers...); err != nil {
		return err
	}
	return out.Write(c.Context())
}

func cellsOfRows(rows []asymmetryRow) [][]string {
	var cells [][]string
	for _, r := range rows {
		cells = append(cells, r.cells())
	}
	return cells
}

// maps are the average, and the field at the right less that at the mirrored place, from
// the continuous spline, on the right half of the head.
func (f *asymmetryFlags) maps(c *cobra.Command, fields *fields) (*render.Sheet, error) {
	sheet, err := sheetOf(c.Context(), fields, &markFlag{})
	if err != nil {
		return nil, err
	}
	row := sheet.Rows[0]
	coefficients, err := row.Spline.Solve(row.Values)
	if err != nil {
		return nil, err
	}
	var here, mirrored []r3.Vec
	for _, m := range row.Marks {
		p := m.Site.Position
		here, mirrored = append(here, p), append(mirrored, r3.Vec{X: -p.X, Y: p.Y, Z: p.Z})
	}
	difference := row.Spline.Interpolate(here, topo.Potential, coefficients)
	difference.Sub(difference, row.Spline.Interpolate(mirrored, topo.Potential, coefficients))
	other := row
	other.Title, other.Values, other.Difference, other.RightHalf = row.Title+": right minus left", mat.DenseCopyOf(difference), true, true
	sheet.Rows = append(sheet.Rows, other)
	sheet.Remarks = append(sheet.Remarks, "Right minus left: the field less that at the mirrored place, on the right half of the head. The side that is larger on the scalp need not be the side that is active in the brain.")
	return sheet, nil
}

func intervalsOf(rows []asymmetryRow, width vg.Length) *render.Intervals {
	out := &render.Intervals{
		Title: "Right minus left, " + rows[0].at.Label(), Unit: "right minus left, µV", Width: width,
		Caption: "No interval and no test: that takes the people behind a grand average, or saved epochs.",
	}
	if rows[0].n > 0 {
		out.Caption = fmt.Sprintf("Whiskers: 95 %% intervals of the mean by t, of %d %s, each pair by itself.", rows[0].n, rows[0].unit)
	}
	if !math.IsNaN(rows[0].adjusted) {
		out.Caption += " p*: by sign flips, corrected over these pairs by the largest t."
	}
	for _, r := range rows {
		line := render.Interval{Name: r.left + "–" + r.right, Value: r.difference, Low: r.low, High: r.high, Open: r.repaired}
		if !math.IsNaN(r.adjusted) {
			line.Note = fmt.Sprintf("p* %.2g", r.adjusted)
		}
		out.Lines = append(out.Lines, line)
	}
	return out
}

// waves are left, right and their difference at a pair over time, with the band on the
// difference where the people or epochs are at hand.
func (f *asymmetryFlags) waves(fields *fields, r asymmetryRow, width vg.Length) (*render.Traces, error) {
	avg := fields.averages[0]
	var pair measure.MirrorPair
	for _, p := range measure.MirrorPairs(avg.Sites) {
		if avg.Sites[p.Left] == r.left && avg.Sites[p.Right] == r.right {
			pair = p
		}
	}
	less := func(a *erp.Average) []float64 {
		out := make([]float64, len(a.Times))
		for i := range out {
			out[i] = a.Mean[pair.Right][i] - a.Mean[pair.Left][i]
		}
		return out
	}
	figure := &render.Traces{
		Times: avg.Times, Width: width, Below: true,
		Curves: []string{r.left + " (left)", r.right + " (right)", "right minus left"},
		Panels: []render.TracePanel{{Title: r.left + "–" + r.right + ", " + r.condition, Curves: []render.Trace{
			{Values: avg.Mean[pair.Left]}, {Values: avg.Mean[pair.Right]}, {Values: less(avg)},
		}}},
	}
	if span, ok := avg.Info.BaselineSpan(); ok && float64(span.To) > avg.Times[0] {
		figure.Baseline = &[2]float64{max(float64(span.From), avg.Times[0]), float64(span.To)}
	}
	if r.at.IsWindow() {
		figure.Windows = []render.TraceWindow{{Name: r.at.Label(), From: float64(r.at.From), To: float64(r.at.To)}}
	}
	units := f.units[0]
	if len(units) < 2 {
		return figure, nil
	}
	n := float64(len(units))
	half := distuv.StudentsT{Sigma: 1, Nu: n - 1}.Quantile(.975) / math.Sqrt(n)
	var each [][]float64
	for _, u := range units {
		each = append(each, less(u))
	}
	band, column := make([]float64, len(avg.Times)), make([]float64, len(units))
	for i := range band {
		for k := range each {
			column[k] = each[k][i]
		}
		band[i] = half * stat.StdDev(column, nil)
	}
	figure.Panels[0].Curves[2].Band = band
	figure.Band = fmt.Sprintf("95 %% interval of the mean difference (t) over %d %s", r.n, r.unit)
	return figure, nil
}
