package guide

import (
	"fmt"
	"image/color"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
)

// A page is one side of paper. Its layout counts millimetres from the upper
// left corner, y down; what is put on it is kept and drawn later, in points
// from the lower left corner.
type page struct {
	width, height      float64
	correction         float64 // of the printer: everything is this much larger
	title, description string
	items              []item
	taken              []place // what no text may touch
	err                error
}

// An item draws itself in points.
type item interface{ draw(c canvas.Canvas) }

// margin is free of ink on all sides, in mm: no printer reaches the edge.
const margin = 10

func newPage(paper Paper, correction float64, title string) *page {
	w, h := paper.size()
	return &page{width: w, height: h, correction: correction, title: title, description: title}
}

// left, right, top and bottom bound what is drawn, in mm. They leave room for
// the printer's correction, which enlarges about the middle of the page.
func (p *page) left() float64   { return p.width/2 - (p.width/2-margin)/max(1, p.correction) }
func (p *page) right() float64  { return p.width - p.left() }
func (p *page) top() float64    { return p.height/2 - (p.height/2-margin)/max(1, p.correction) }
func (p *page) bottom() float64 { return p.height - p.top() }
func (p *page) span() float64   { return p.right() - p.left() }

func (p *page) Size() (width, height vg.Length) {
	return vg.Length(p.width) * vg.Millimeter, vg.Length(p.height) * vg.Millimeter
}

func (p *page) Title() string       { return p.title }
func (p *page) Description() string { return p.description }

func (p *page) Draw(c canvas.Canvas) {
	w, h := p.Size()
	c.Push()
	defer c.Pop()
	c.Translate(vg.Point{X: w / 2, Y: h / 2})
	c.Scale(p.correction, p.correction)
	c.Translate(vg.Point{X: -w / 2, Y: -h / 2})
	for _, i := range p.items {
		i.draw(c)
	}
}

// point carries mm from the upper left corner to points from the lower left.
func (p *page) point(v r2.Vec) vg.Point {
	return vg.Point{X: vg.Length(v.X) * vg.Millimeter, Y: vg.Length(p.height-v.Y) * vg.Millimeter}
}

// fail keeps the first thing that went wrong.
func (p *page) fail(format string, args ...any) {
	if p.err == nil {
		p.err = fmt.Errorf(format, args...)
	}
}

// A group names what lies between open and close, for screen readers and SVG.
type group struct{ id, title string }

func (g group) draw(c canvas.Canvas) {
	if g.id == "" {
		c.End()
		return
	}
	c.Group(g.id, g.title)
}

func (p *page) open(id, title string) { p.items = append(p.items, group{id, title}) }
func (p *page) close()                { p.items = append(p.items, group{}) }

// A shape is a line of some width, or without width an area.
type shape struct {
	path  vg.Path
	width vg.Length
	dash  []vg.Length
	ink   color.Gray
}

func (s shape) draw(c canvas.Canvas) {
	c.SetColor(s.ink)
	if s.width == 0 {
		c.Fill(s.path)
		return
	}
	c.SetLineWidth(s.width)
	c.SetLineDash(s.dash, 0)
	c.Stroke(s.path)
}

var (
	black = color.Gray{}
	white = color.Gray{Y: 255}
)

// Widths of lines in points, and the dashes of those that are only a help.
const (
	hair  = vg.Length(.4)
	thin  = vg.Length(.7)
	firm  = vg.Length(1.1)
	heavy = vg.Length(2)
)

var dashes = []vg.Length{3, 2.5}

func (p *page) path(points []r2.Vec, closed bool) vg.Path {
	var path vg.Path
	for i, v := range points {
		if i == 0 {
			path.Move(p.point(v))
			continue
		}
		path.Line(p.point(v))
	}
	if closed {
		path.Close()
	}
	return path
}

func (p *page) add(s shape) { p.items = append(p.items, s) }

// stroke draws an open line through points.
func (p *page) stroke(width vg.Length, points ...r2.Vec) {
	p.add(shape{path: p.path(points, false), width: width})
}

func (p *page) dashed(width vg.Length, points ...r2.Vec) {
	p.add(shape{path: p.path(points, false), width: width, dash: dashes})
}

// outline draws a closed line, area fills one.
func (p *page) outline(width vg.Length, points ...r2.Vec) {
	p.add(shape{path: p.path(points, true), width: width})
}

func (p *page) area(ink color.Gray, points ...r2.Vec) {
	p.add(shape{path: p.path(points, true), ink: ink})
}

func (p *page) circle(center r2.Vec, radius float64) vg.Path {
	var path vg.Path
	path.Arc(p.point(center), vg.Length(radius)*vg.Millimeter, 0, 6.283185307179586)
	path.Close()
	return path
}

func (p *page) ring(width vg.Length, center r2.Vec, radius float64) {
	p.add(shape{path: p.circle(center, radius), width: width})
}

func (p *page) disc(ink color.Gray, center r2.Vec, radius float64) {
	p.add(shape{path: p.circle(center, radius), ink: ink})
}

func corners(x, y, w, h float64) []r2.Vec {
	return []r2.Vec{{X: x, Y: y}, {X: x + w, Y: y}, {X: x + w, Y: y + h}, {X: x, Y: y + h}}
}

// Boxes to write in, in mm.
const (
	tickSize    = 8
	writeWidth  = 25
	writeHeight = 12
)

// tick is a box for a tick, write a box for a number; neither may be touched
// by text. A dashed tick box is for a mark without electrode.
func (p *page) tick(x, y float64) { p.box(x, y, tickSize, tickSize) }

func (p *page) write(x, y float64) { p.box(x, y, writeWidth, writeHeight) }

func (p *page) box(x, y, w, h float64) {
	p.outline(firm, corners(x, y, w, h)...)
	p.taken = append(p.taken, place{corners: corners(x, y, w, h)})
}

// dashedTick is the box of a mark that gets no electrode.
func (p *page) dashedTick(x, y float64) {
	p.add(shape{path: p.path(corners(x, y, tickSize, tickSize), true), width: firm, dash: dashes})
	p.taken = append(p.taken, place{corners: corners(x, y, tickSize, tickSize)})
}

// arrow is a line with a filled head at its end.
func (p *page) arrow(width vg.Length, from, to r2.Vec, head float64) {
	along := r2.Unit(r2.Sub(to, from))
	across := r2.Vec{X: -along.Y, Y: along.X}
	neck := r2.Sub(to, r2.Scale(head, along))
	p.stroke(width, from, neck)
	p.area(black, to, r2.Add(neck, r2.Scale(head*.42, across)), r2.Sub(neck, r2.Scale(head*.42, across)))
}
