package main

import (
	"fmt"
	"math"

	"github.com/spf13/cobra"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/figure"
	"calotte/layout"
	"calotte/render/canvas"
	"calotte/render/chart"
	"calotte/render/paper"
	"calotte/render/scalp"
	"calotte/topo/contrast"
	"calotte/topo/provenance"
)

// draw draws maps, intervals and waveforms of an average's first latency.
func (f *asymmetryFlags) draw(a *app, c *cobra.Command, out *disk.Files, sides *askedSides,
	sources []provenance.Source) error {
	if len(f.when.At) > 1 {
		return console.Usagef("a figure shows one latency, not %d: draw one after the other", len(f.when.At))
	}
	maps, err := sides.maps(c)
	if err != nil {
		return err
	}
	width := f.figure.Points()
	maps.Width = width
	plate, err := maps.Compose()
	if err != nil {
		return err
	}
	rows, err := sides.frontToBack()
	if err != nil {
		return err
	}
	intervals := intervalsOf(rows, width)
	if chosen := sides.chosen(); chosen != "" {
		intervals.Caption += " " + chosen
	}
	pairs, err := intervals.Compose()
	if err != nil {
		return err
	}
	waves, err := sides.waves(width)
	if err != nil {
		return err
	}
	curves, err := waves.Compose()
	if err != nil {
		return err
	}
	stack := &paper.Stack{Name: "Left against right, " + maps.Rows[0].Title,
		Figures: []canvas.Figure{plate, pairs, curves}}
	if err := stack.Validate(); err != nil {
		return err
	}
	numbers := append(numbersOfTraces(waves),
		figure.TableOf("pairs", asymmetryColumns(false), asymmetryCells(sides.found)))
	return f.figure.Deliver(c.Context(), out, stack, a.Provenance(c, sources), numbers...)
}

// maps are the average, and the field at the right less that at the mirrored
// place, on the right half of the head.
func (s *askedSides) maps(c *cobra.Command) (*scalp.Sheet, error) {
	sheet, err := sheetOf(c.Context(), s.fields, &figure.Marks{})
	if err != nil {
		return nil, err
	}
	other := sheet.Rows[0]
	other.Title, other.Difference, other.RightHalf = other.Title+": right minus left", true, true
	if other.Values, err = contrast.MirroredField(other.Spline, other.Values); err != nil {
		return nil, err
	}
	sheet.Rows = append(sheet.Rows, other)
	sheet.Remarks = append(sheet.Remarks,
		"Right minus left: the field less that at the mirrored place, on the right half of the head. "+
			contrast.SideCaution)
	return sheet, nil
}

// frontToBack are the pairs of the first average from the front of the head to
// the back, by the places of their right sites.
func (s *askedSides) frontToBack() ([]contrast.Asymmetry, error) {
	pairs, err := s.Pairs(s.samples[0].Average.Sites)
	if err != nil {
		return nil, err
	}
	sites, places := s.Spline.Sites(), make([]layout.Site, len(pairs))
	for k, p := range pairs {
		for _, i := range p.Right.Rows {
			places[k].Position = r3.Add(places[k].Position, r3.Scale(1/float64(len(p.Right.Rows)), sites[i].Position))
		}
	}
	var rows []contrast.Asymmetry
	for _, k := range chart.FrontToBack(places) {
		rows = append(rows, s.found[k])
	}
	return rows, nil
}

func intervalsOf(rows []contrast.Asymmetry, width vg.Length) *chart.Intervals {
	out := &chart.Intervals{
		Title: "Right minus left, " + rows[0].At.Label(), Unit: "right minus left, µV", Width: width,
		Ends:    [2]string{"left more positive", "right more positive"},
		Caption: rows[0].IntervalWords() + " " + rows[0].TurnWords(),
	}
	for _, r := range rows {
		line := chart.Interval{Name: r.Left + "–" + r.Right, Value: r.Difference, Low: r.Low, High: r.High,
			Joint: r.Joint, Open: r.Repaired, Note: "turn " + r.Cap.Explains.String()}
		if !math.IsNaN(r.Corrected) {
			line.Note = fmt.Sprintf("p* %.2g, %s", r.Corrected, line.Note)
		}
		out.Lines = append(out.Lines, line)
	}
	return out
}

// waves are left, right and their difference over time at the pair whose |t| is
// largest, which is named, with the band on the difference where the people or
// epochs are at hand.
func (s *askedSides) waves(width vg.Length) (*chart.Traces, error) {
	sample, k := s.samples[0], 0
	for i, a := range s.found {
		if math.Abs(a.Difference/a.SEM) > math.Abs(s.found[k].Difference/s.found[k].SEM) {
			k = i
		}
	}
	first := s.found[k]
	title := first.Left + "–" + first.Right + ", " + first.Condition
	if len(s.found) > 1 && !math.IsNaN(first.SEM) {
		title += fmt.Sprintf(": the largest |t| of the %d pairs", len(s.found))
	}
	avg := sample.Average
	pairs, err := s.Pairs(avg.Sites)
	if err != nil {
		return nil, err
	}
	waves := sample.Waves(pairs[k])
	figure := &chart.Traces{
		Times: avg.Times, Width: width, Below: true,
		Curves: []string{first.Left + " (left)", first.Right + " (right)", "right minus left"},
		Panels: []chart.TracePanel{{Title: title,
			Curves: []chart.Trace{
				{Values: waves.Left}, {Values: waves.Right},
				{Values: waves.Difference, Band: waves.Band},
			}}},
	}
	if span, ok := avg.Info.BaselineSpan(); ok && float64(span.To) > avg.Times[0] {
		figure.Baseline = &[2]float64{max(float64(span.From), avg.Times[0]), float64(span.To)}
	}
	if first.At.IsWindow() {
		figure.Windows = []chart.TraceWindow{{Name: first.At.Label(), From: float64(first.At.From),
			To: float64(first.At.To)}}
	}
	if waves.Band != nil {
		figure.Band = fmt.Sprintf("95\u00a0%% interval of the mean difference (t) over %d %s", first.N,
			first.Over)
	}
	return figure, nil
}
