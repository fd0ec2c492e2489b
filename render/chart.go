package render

import (
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/paper"
)

// A chart is a frame with two axes. Its rectangle is that of the curves; numbers and
// names stand outside, at the left and below.
type chart struct {
	rect vg.Rectangle
	x, y axis
}

const (
	chartGap  = 2.5 * vg.Length(1) // from an axis to its numbers
	chartLine = .9 * vg.Length(1)  // of a curve
)

// leftRoom is what the numbers of a vertical axis need beside it.
func leftRoom(a axis) vg.Length {
	widest := vg.Length(0)
	for _, t := range a.ticks() {
		widest = max(widest, paper.Width(t.Label))
	}
	return widest + paper.TickLength + chartGap
}

// belowRoom is what the numbers and the name of a horizontal axis need below it, and
// aboveRoom the name of a vertical one above it.
const (
	belowRoom = paper.TickLength + chartGap + 2*paper.LineHeight
	aboveRoom = paper.LineHeight + nameGap
	nameGap   = 6 * vg.Length(1) // from the topmost number to the name above it
)

func (c *chart) point(x, y float64) vg.Point {
	size := c.rect.Size()
	return vg.Point{
		X: c.rect.Min.X + vg.Length(c.x.at(x))*size.X,
		Y: c.rect.Min.Y + vg.Length(c.y.at(y))*size.Y,
	}
}

// texts are the numbers and names of the axes. Numbers that would touch those before
// them are left out, the name of the horizontal axis stands below the right end.
func (c *chart) texts() []paper.Line {
	height := canvas.CapHeight(canvas.Sans(paper.TextSize, false))
	var lines []paper.Line
	last := vg.Length(math.Inf(-1))
	for _, t := range c.y.numbered() {
		at := c.point(c.x.low, t.Value).Y
		if math.Abs(float64(at-last)) < float64(paper.TextSize) {
			continue
		}
		last = at
		lines = append(lines, paper.Line{Text: t.Label, At: vg.Point{
			X: c.rect.Min.X - paper.TickLength - chartGap - paper.Width(t.Label), Y: at - height/2}})
	}
	right := vg.Length(math.Inf(-1))
	baseline := c.rect.Min.Y - paper.TickLength - chartGap - height
	for _, t := range c.x.numbered() {
		x := c.point(t.Value, c.y.low).X - paper.Width(t.Label)/2
		if x < right+paper.TextSize/2 {
			continue
		}
		lines = append(lines, paper.Line{Text: t.Label, At: vg.Point{X: x, Y: baseline}})
		right = x + paper.Width(t.Label)
	}
	return append(lines,
		paper.Line{Text: c.y.name, At: vg.Point{X: c.rect.Min.X - leftRoom(c.y) + paper.TickLength + chartGap, Y: c.rect.Max.Y + nameGap}},
		paper.Line{Text: c.x.name, At: vg.Point{X: c.rect.Max.X - paper.Width(c.x.name), Y: baseline - paper.LineHeight}})
}

// drawAxes draws both axes with their ticks, and a faint line at the zero of the
// vertical one.
func (c *chart) drawAxes(v vg.Canvas) {
	if c.y.low < 0 && c.y.high > 0 {
		paper.Stroke(v, paper.Straight(c.point(c.x.low, 0), c.point(c.x.high, 0)), paper.Faded(.35), .5)
	}
	paper.Stroke(v, paper.Straight(c.rect.Min, vg.Point{X: c.rect.Max.X, Y: c.rect.Min.Y}), paper.Ink, .6)
	paper.Stroke(v, paper.Straight(c.rect.Min, vg.Point{X: c.rect.Min.X, Y: c.rect.Max.Y}), paper.Ink, .6)
	for _, t := range c.x.ticks() {
		p := c.point(t.Value, c.y.low)
		p.Y = c.rect.Min.Y
		paper.Stroke(v, paper.Straight(p, vg.Point{X: p.X, Y: p.Y - lengthOf(t)}), paper.Ink, .5)
	}
	for _, t := range c.y.ticks() {
		p := c.point(c.x.low, t.Value)
		p.X = c.rect.Min.X
		paper.Stroke(v, paper.Straight(p, vg.Point{X: p.X - lengthOf(t), Y: p.Y}), paper.Ink, .5)
	}
}

// A stroke is how a curve is drawn.
type stroke struct {
	colour color.Color
	dash   []vg.Length // nil: a full line
}

// inside restricts what draw draws to the chart's rectangle.
func (c *chart) inside(v canvas.Canvas, draw func()) {
	var edge vg.Path
	edge.Move(c.rect.Min)
	edge.Line(vg.Point{X: c.rect.Max.X, Y: c.rect.Min.Y})
	edge.Line(c.rect.Max)
	edge.Line(vg.Point{X: c.rect.Min.X, Y: c.rect.Max.Y})
	edge.Close()
	v.Push()
	v.Clip(edge)
	draw()
	v.Pop()
}

// curve draws a line through the points that are numbers.
func (c *chart) curve(v canvas.Canvas, xs, ys []float64, s stroke) {
	var path vg.Path
	pen := false
	for i, y := range ys {
		if math.IsNaN(y) || math.IsInf(y, 0) {
			pen = false
			continue
		}
		if p := c.point(xs[i], y); pen {
			path.Line(p)
		} else {
			path.Move(p)
			pen = true
		}
	}
	c.inside(v, func() {
		v.SetLineDash(s.dash, 0)
		paper.Stroke(v, path, s.colour, chartLine)
		v.SetLineDash(nil, 0)
	})
}

// band fills between two lines.
func (c *chart) band(v canvas.Canvas, xs, low, high []float64, colour color.Color) {
	if len(xs) == 0 {
		return
	}
	var path vg.Path
	path.Move(c.point(xs[0], low[0]))
	for i := 1; i < len(xs); i++ {
		path.Line(c.point(xs[i], low[i]))
	}
	for i := range slices.Backward(xs) {
		path.Line(c.point(xs[i], high[i]))
	}
	path.Close()
	c.inside(v, func() { paper.Fill(v, path, colour) })
}
