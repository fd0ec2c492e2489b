package chart

import (
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/paper"
)

// A Chart is a frame with two axes. Its rectangle is that of the curves;
// numbers and names stand outside, at the left and below.
type Chart struct {
	Rect vg.Rectangle
	X, Y Axis
}

const (
	chartGap  = 2.5 * vg.Length(1) // from an axis to its numbers
	chartLine = .9 * vg.Length(1)  // of a curve
)

// LeftRoom is what the numbers of a vertical axis need beside it.
func LeftRoom(a Axis) vg.Length {
	widest := vg.Length(0)
	for _, t := range a.Ticks() {
		widest = max(widest, paper.Width(t.Label))
	}
	return widest + paper.TickLength + chartGap
}

// BelowRoom is what the numbers and the name of a horizontal axis need below
// it, and AboveRoom the name of a vertical one above it.
const (
	BelowRoom = paper.TickLength + chartGap + 2*paper.LineHeight
	AboveRoom = paper.LineHeight + nameGap
	nameGap   = 6 * vg.Length(1) // from the topmost number to the name above it
)

// Point is where values lie on the page.
func (c *Chart) Point(x, y float64) vg.Point {
	size := c.Rect.Size()
	return vg.Point{
		X: c.Rect.Min.X + vg.Length(c.X.at(x))*size.X,
		Y: c.Rect.Min.Y + vg.Length(c.Y.at(y))*size.Y,
	}
}

// Texts are the numbers and names of the axes. Numbers that would touch those
// before them are left out, the name of the horizontal axis stands below the
// right end.
func (c *Chart) Texts() []paper.Line {
	height := canvas.CapHeight(canvas.Sans(paper.TextSize, false))
	var lines []paper.Line
	last := vg.Length(math.Inf(-1))
	for _, t := range c.Y.numbered() {
		at := c.Point(c.X.Low, t.Value).Y
		if math.Abs(float64(at-last)) < float64(paper.TextSize) {
			continue
		}
		last = at
		lines = append(lines, paper.Line{Text: t.Label, At: vg.Point{
			X: c.Rect.Min.X - paper.TickLength - chartGap - paper.Width(t.Label), Y: at - height/2}})
	}
	right := vg.Length(math.Inf(-1))
	baseline := c.Rect.Min.Y - paper.TickLength - chartGap - height
	for _, t := range c.X.numbered() {
		x := c.Point(t.Value, c.Y.Low).X - paper.Width(t.Label)/2
		if x < right+paper.TextSize/2 {
			continue
		}
		lines = append(lines, paper.Line{Text: t.Label, At: vg.Point{X: x, Y: baseline}})
		right = x + paper.Width(t.Label)
	}
	return append(lines,
		paper.Line{Text: c.Y.Name,
			At: vg.Point{X: c.Rect.Min.X - LeftRoom(c.Y) + paper.TickLength + chartGap,
				Y: c.Rect.Max.Y + nameGap}},
		paper.Line{Text: c.X.Name,
			At: vg.Point{X: c.Rect.Max.X - paper.Width(c.X.Name), Y: baseline - paper.LineHeight}})
}

// DrawAxes draws both axes with their ticks, and a faint line at the zero of
// the vertical one.
func (c *Chart) DrawAxes(v vg.Canvas) {
	if c.Y.Low < 0 && c.Y.High > 0 {
		paper.Stroke(v, paper.Straight(c.Point(c.X.Low, 0), c.Point(c.X.High, 0)), paper.Faded(.35), .5)
	}
	paper.Stroke(v, paper.Straight(c.Rect.Min, vg.Point{X: c.Rect.Max.X, Y: c.Rect.Min.Y}), paper.Ink, .6)
	paper.Stroke(v, paper.Straight(c.Rect.Min, vg.Point{X: c.Rect.Min.X, Y: c.Rect.Max.Y}), paper.Ink, .6)
	for _, t := range c.X.Ticks() {
		p := c.Point(t.Value, c.Y.Low)
		p.Y = c.Rect.Min.Y
		paper.Stroke(v, paper.Straight(p, vg.Point{X: p.X, Y: p.Y - lengthOf(t)}), paper.Ink, .5)
	}
	for _, t := range c.Y.Ticks() {
		p := c.Point(c.X.Low, t.Value)
		p.X = c.Rect.Min.X
		paper.Stroke(v, paper.Straight(p, vg.Point{X: p.X - lengthOf(t), Y: p.Y}), paper.Ink, .5)
	}
}

// A Stroke is how a curve is drawn.
type Stroke struct {
	Colour color.Color
	Dash   []vg.Length // nil: a full line
}

// inside restricts what draw draws to the chart's rectangle.
func (c *Chart) inside(v canvas.Canvas, draw func()) {
	var edge vg.Path
	edge.Move(c.Rect.Min)
	edge.Line(vg.Point{X: c.Rect.Max.X, Y: c.Rect.Min.Y})
	edge.Line(c.Rect.Max)
	edge.Line(vg.Point{X: c.Rect.Min.X, Y: c.Rect.Max.Y})
	edge.Close()
	v.Push()
	v.Clip(edge)
	draw()
	v.Pop()
}

// Curve draws a line through the points that are numbers.
func (c *Chart) Curve(v canvas.Canvas, xs, ys []float64, s Stroke) {
	var path vg.Path
	pen := false
	for i, y := range ys {
		if math.IsNaN(y) || math.IsInf(y, 0) {
			pen = false
			continue
		}
		if p := c.Point(xs[i], y); pen {
			path.Line(p)
		} else {
			path.Move(p)
			pen = true
		}
	}
	c.inside(v, func() {
		v.SetLineDash(s.Dash, 0)
		paper.Stroke(v, path, s.Colour, chartLine)
		v.SetLineDash(nil, 0)
	})
}

// band fills between two lines.
func (c *Chart) band(v canvas.Canvas, xs, low, high []float64, colour color.Color) {
	if len(xs) == 0 {
		return
	}
	var path vg.Path
	path.Move(c.Point(xs[0], low[0]))
	for i := 1; i < len(xs); i++ {
		path.Line(c.Point(xs[i], low[i]))
	}
	for i := range slices.Backward(xs) {
		path.Line(c.Point(xs[i], high[i]))
	}
	path.Close()
	c.inside(v, func() { paper.Fill(v, path, colour) })
}
