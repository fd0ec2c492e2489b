package paper

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
)

// Stroke draws a line along a path.
func Stroke(c vg.Canvas, p vg.Path, colour color.Color, width vg.Length) {
	if len(p) > 0 {
		c.SetColor(colour)
		c.SetLineWidth(width)
		c.Stroke(p)
	}
}

// Fill fills a path.
func Fill(c vg.Canvas, p vg.Path, colour color.Color) {
	if len(p) > 0 {
		c.SetColor(colour)
		c.Fill(p)
	}
}

// Circle adds a circle to a path.
func Circle(p *vg.Path, at vg.Point, radius vg.Length) {
	p.Move(vg.Point{X: at.X + radius, Y: at.Y})
	p.Arc(at, radius, 0, 2*math.Pi)
	p.Close()
}

// Cross adds a cross, its arms at 45° and half as far in each direction.
func Cross(p *vg.Path, at vg.Point, half vg.Length) {
	for _, slope := range []vg.Length{1, -1} {
		p.Move(at.Sub(vg.Point{X: half, Y: slope * half}))
		p.Line(at.Add(vg.Point{X: half, Y: slope * half}))
	}
}

// Rectangle adds a rectangle to a path.
func Rectangle(p *vg.Path, r vg.Rectangle) {
	p.Move(r.Min)
	p.Line(vg.Point{X: r.Max.X, Y: r.Min.Y})
	p.Line(r.Max)
	p.Line(vg.Point{X: r.Min.X, Y: r.Max.Y})
	p.Close()
}

// Straight is the path from one point to another.
func Straight(a, b vg.Point) vg.Path {
	var p vg.Path
	p.Move(a)
	p.Line(b)
	return p
}

// Grown is a rectangle with a border around it.
func Grown(r vg.Rectangle, by vg.Length) vg.Rectangle {
	d := vg.Point{X: by, Y: by}
	return vg.Rectangle{Min: r.Min.Sub(d), Max: r.Max.Add(d)}
}

// Overlap reports whether two rectangles share an area.
func Overlap(a, b vg.Rectangle) bool {
	return a.Min.X < b.Max.X && b.Min.X < a.Max.X && a.Min.Y < b.Max.Y && b.Min.Y < a.Max.Y
}
