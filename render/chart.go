package render

import (
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
)

// An axis runs from low to high, in equal steps or, where log holds, in equal
// ratios.
type axis struct {
	low, high float64
	log       bool
	ticks     []float64
	name      string // with its unit
	text      func(v float64) string
}

// newAxis has ticks at round numbers, at most so many, between low and high.
func newAxis(name string, low, high float64, most int) axis {
	return axis{low: low, high: high, ticks: roundTicks(low, high, most), name: name, text: tickText}
}

// roundedAxis is newAxis with its ends moved out to the next ticks.
func roundedAxis(name string, low, high float64, most int) axis {
	step := roundStep(high-low, most)
	low, high = math.Floor(low/step+1e-9)*step, math.Ceil(high/step-1e-9)*step
	return newAxis(name, low, high, most+1)
}

// at is where a value lies, 0 at the low end and 1 at the high one.
func (a axis) at(v float64) float64 {
	if a.log {
		return math.Log(v/a.low) / math.Log(a.high/a.low)
	}
	return (v - a.low) / (a.high - a.low)
}

// roundStep is a step of 1, 2 or 5 times a power of ten that divides a length into
// at most so many parts.
func roundStep(length float64, most int) float64 {
	raw := length / float64(max(1, most-1))
	power := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5, 10} {
		if m*power >= raw*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

func roundTicks(low, high float64, most int) []float64 {
	if !(high > low) {
		return []float64{low}
	}
	step := roundStep(high-low, most)
	var ticks []float64
	for k := math.Ceil(low/step - 1e-9); k*step <= high+1e-9*step; k++ {
		ticks = append(ticks, k*step+0) // + 0: no minus before a zero
	}
	return ticks
}

// decades are the powers of ten between low and high, and where they are few their
// doubles and fivefolds, too.
func decades(low, high float64) []float64 {
	factors := []float64{1}
	if high/low < 300 {
		factors = []float64{1, 2, 5}
	}
	var ticks []float64
	for e := math.Floor(math.Log10(low)); e <= math.Ceil(math.Log10(high)); e++ {
		for _, f := range factors {
			if v := f * math.Pow(10, e); v >= low*(1-1e-9) && v <= high*(1+1e-9) {
				ticks = append(ticks, v)
			}
		}
	}
	return ticks
}

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
	for _, t := range a.ticks {
		widest = max(widest, regularWidth(a.text(t)))
	}
	return widest + tickLength + chartGap
}

// belowRoom is what the numbers and the name of a horizontal axis need below it, and
// aboveRoom the name of a vertical one above it.
const (
	belowRoom = tickLength + chartGap + 2*lineHeight
	aboveRoom = lineHeight + nameGap
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
func (c *chart) texts() []textLine {
	height := canvas.CapHeight(canvas.Sans(textSize, false))
	var lines []textLine
	last := vg.Length(math.Inf(-1))
	for _, t := range c.y.ticks {
		text := c.y.text(t)
		at := c.point(c.x.low, t).Y
		if math.Abs(float64(at-last)) < float64(textSize) {
			continue
		}
		last = at
		lines = append(lines, textLine{text: text, at: vg.Point{
			X: c.rect.Min.X - tickLength - chartGap - regularWidth(text), Y: at - height/2}})
	}
	right := vg.Length(math.Inf(-1))
	baseline := c.rect.Min.Y - tickLength - chartGap - height
	for _, t := range c.x.ticks {
		text := c.x.text(t)
		x := c.point(t, c.y.low).X - regularWidth(text)/2
		if x < right+textSize/2 {
			continue
		}
		lines = append(lines, textLine{text: text, at: vg.Point{X: x, Y: baseline}})
		right = x + regularWidth(text)
	}
	return append(lines,
		textLine{text: c.y.name, at: vg.Point{X: c.rect.Min.X - leftRoom(c.y) + tickLength + chartGap, Y: c.rect.Max.Y + nameGap}},
		textLine{text: c.x.name, at: vg.Point{X: c.rect.Max.X - regularWidth(c.x.name), Y: baseline - lineHeight}})
}

// drawAxes draws both axes with their ticks, and a faint line at the zero of the
// vertical one.
func (c *chart) drawAxes(v vg.Canvas) {
	if c.y.low < 0 && c.y.high > 0 && !c.y.log {
		strokePath(v, straight(c.point(c.x.low, 0), c.point(c.x.high, 0)), faded(.35), .5)
	}
	strokePath(v, straight(c.rect.Min, vg.Point{X: c.rect.Max.X, Y: c.rect.Min.Y}), ink, .6)
	strokePath(v, straight(c.rect.Min, vg.Point{X: c.rect.Min.X, Y: c.rect.Max.Y}), ink, .6)
	for _, t := range c.x.ticks {
		p := c.point(t, c.y.low)
		p.Y = c.rect.Min.Y
		strokePath(v, straight(p, vg.Point{X: p.X, Y: p.Y - tickLength}), ink, .5)
	}
	for _, t := range c.y.ticks {
		p := c.point(c.x.low, t)
		p.X = c.rect.Min.X
		strokePath(v, straight(p, vg.Point{X: p.X - tickLength, Y: p.Y}), ink, .5)
	}
}

func straight(a, b vg.Point) vg.Path {
	var p vg.Path
	p.Move(a)
	p.Line(b)
	return p
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
		strokePath(v, path, s.colour, chartLine)
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
	c.inside(v, func() { fillPath(v, path, colour) })
}
