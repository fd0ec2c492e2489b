package unmixed

import (
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"calotte/render/canvas"
	"calotte/render/chart"
	"calotte/render/paper"
	"calotte/render/scalp"
)

// A curve is drawn in a chart.
type curve struct {
	xs, ys []float64
	stroke chart.Stroke
}

// A plotted is a chart with its curves.
type plotted struct {
	chart.Chart
	curves []curve
}

// A placedRow is a row that is laid out: lengths from the upper left corner of
// the page, y up.
type placedRow struct {
	Row
	top    vg.Length
	mapped *scalp.Map
	charts []plotted
	texts  []paper.Line
}

// place lays a row out.
func (s *Sheet) place(row Row, top vg.Length) (placedRow, error) {
	p := placedRow{Row: row, top: top}
	var err error
	if p.mapped, err = s.mapOf(row.Map); err != nil {
		return p, err
	}
	y := top - chartTop - paper.TextSize
	for i, line := range append([]string{row.Title, decision(row.Remove)}, row.Lines...) {
		bold := i == 0 || i == 1 && row.Remove
		for _, part := range paper.Wrap(line, mapLeft-2*paper.Margin-4, bold) {
			p.texts = append(p.texts,
				paper.Line{Text: part, At: vg.Point{X: paper.Margin, Y: y}, Bold: bold})
			y -= paper.LineHeight
		}
	}
	if len(s.Times) > 1 {
		p.add(courseLeft, courseWidth, s.courses(row))
	}
	p.add(powerLeft, powerWidth, spectrum(row.Spectrum))
	p.add(piecesLeft, piecesWidth, pieces(row.Pieces))
	return p, nil
}

// add gives a chart its place.
func (p *placedRow) add(left, width vg.Length, c plotted) {
	c.Rect = vg.Rectangle{Min: vg.Point{X: left, Y: p.top - rowHeight + chartBottom},
		Max: vg.Point{X: left + width, Y: p.top - chartTop}}
	p.charts = append(p.charts, c)
	for _, t := range c.Texts() {
		if t.Text != "" {
			p.texts = append(p.texts, t)
		}
	}
}

// courses are the mean courses at the events.
func (s *Sheet) courses(row Row) plotted {
	var p plotted
	for k, course := range row.Courses {
		p.curves = append(p.curves, curve{s.Times, course,
			chart.Stroke{Colour: paper.Ink, Dash: chart.CurveDash(k)}})
	}
	p.X = chart.NewAxis("", s.Times[0], s.Times[len(s.Times)-1], mostInCharts)
	p.Y = axisOf(row.Courses)
	return p
}

// spectrum is the power in dB.
func spectrum(power []float64) plotted {
	var c curve
	c.stroke = chart.Stroke{Colour: paper.Ink}
	for f := leastHz; f < len(power) && f <= mostHz; f++ {
		c.xs, c.ys = append(c.xs, float64(f)), append(c.ys, 10*math.Log10(max(power[f], 1e-12)))
	}
	p := plotted{curves: []curve{c}}
	p.X = chart.NewAxis("", 0, c.xs[len(c.xs)-1], mostInCharts)
	p.Y = axisOf([][]float64{c.ys})
	return p
}

// pieces stand side by side, with a gap between.
func pieces(list [][]float64) plotted {
	const gap = 0.15 // s
	var p plotted
	for k, piece := range list {
		c := curve{stroke: chart.Stroke{Colour: paper.Ink}, ys: piece}
		for t := range piece {
			c.xs = append(c.xs, float64(k)*(1+gap)+float64(t)/float64(len(piece)))
		}
		p.curves = append(p.curves, c)
	}
	p.X = chart.NewAxis("", 0, float64(len(list))*(1+gap)-gap, 1)
	p.Y = axisOf(list)
	return p
}

// axisOf holds all values.
func axisOf(rows [][]float64) chart.Axis {
	low, high := math.Inf(1), math.Inf(-1)
	for _, row := range rows {
		for _, x := range row {
			low, high = min(low, x), max(high, x)
		}
	}
	if !(high > low) {
		low, high = -1, 1
	}
	return chart.RoundedAxis("", low, high, mostInCharts)
}

// draw draws all but the texts.
func (p placedRow) draw(c canvas.Canvas) {
	if p.mapped != nil {
		p.mapped.Plot(draw.Canvas{Canvas: c, Rectangle: vg.Rectangle{
			Min: vg.Point{X: mapLeft, Y: p.top - rowHeight + paper.Margin},
			Max: vg.Point{X: mapLeft + mapWidth, Y: p.top - paper.Margin}}}, nil)
	}
	for _, chart := range p.charts {
		chart.draw(c)
	}
}

func (p plotted) draw(c canvas.Canvas) {
	p.DrawAxes(c)
	for _, curve := range p.curves {
		p.Curve(c, curve.xs, curve.ys, curve.stroke)
	}
}
