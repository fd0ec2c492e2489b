package guide

import (
	"image/color"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/paper"
)

// leastSize is the smallest type of a guide, in points.
const leastSize = 9

// A style is how words are set. Align is the share of their width that lies
// before the point given: 0 left, 0.5 centred, 1 right.
type style struct {
	size  float64 // points
	bold  bool
	align float64
	turn  float64 // radians counterclockwise
	ink   color.Gray
}

var (
	distance = style{size: 28, bold: true}
	stepText = style{size: 14}
	stepBold = style{size: 14, bold: true}
	body     = style{size: 11}
	bodyBold = style{size: 11, bold: true}
	small    = style{size: leastSize}
)

func (s style) centred() style     { s.align = .5; return s }
func (s style) rightward() style   { s.align = 1; return s }
func (s style) white() style       { s.ink = white; return s }
func (s style) of(f float64) style { s.size = f; return s }
func (s style) face() font.Face    { return canvas.Sans(vg.Length(s.size), s.bold) }

// width, cap and line are in mm: of a text, of a capital's height, from
// baseline to baseline.
func (s style) width(text string) float64 {
	return float64(canvas.TextWidth(s.face(), text) / vg.Millimeter)
}
func (s style) cap() float64  { return float64(canvas.CapHeight(s.face()) / vg.Millimeter) }
func (s style) line() float64 { return 1.24 * s.size * float64(vg.Inch/72/vg.Millimeter) }
func (s style) drop() float64 { return .22 * s.size * float64(vg.Inch/72/vg.Millimeter) }

// words are one line of type on the page, in points.
type words struct {
	text string
	at   vg.Point
	style
}

func (w words) draw(c canvas.Canvas) {
	c.SetColor(w.ink)
	if w.turn == 0 {
		c.FillString(w.face(), w.at, w.text)
		return
	}
	c.Push()
	c.Translate(w.at)
	c.Rotate(w.turn)
	c.FillString(w.face(), vg.Point{}, w.text)
	c.Pop()
}

// put sets one line with its baseline at a point and returns its width.
func (p *page) put(x, y float64, s style, text string) float64 {
	if text == "" {
		return 0
	}
	start, place := s.set(r2.Vec{X: x, Y: y}, text)
	p.items = append(p.items, words{text, p.point(start), s})
	p.taken = append(p.taken, place)
	return s.width(text)
}

// set finds where a line begins that is put at a point, and the place it takes.
func (s style) set(at r2.Vec, text string) (start r2.Vec, takes place) {
	w := s.width(text)
	sin, cos := math.Sincos(s.turn)
	along, up := r2.Vec{X: cos, Y: -sin}, r2.Vec{X: -sin, Y: -cos}
	start = r2.Add(at, r2.Scale(-s.align*w, along))
	corner := func(a, u float64) r2.Vec { return r2.Add(start, r2.Add(r2.Scale(a, along), r2.Scale(u, up))) }
	return start, place{text: text, corners: []r2.Vec{
		corner(0, -s.drop()), corner(w, -s.drop()), corner(w, s.cap()), corner(0, s.cap()),
	}}
}

// fit sets one line in a width, in smaller type where it needs it.
func (p *page) fit(x, y, width float64, s style, text string) float64 {
	for ; s.size > leastSize && s.width(text) > width; s.size = max(leastSize, s.size-.5) {
	}
	if s.width(text) > width {
		p.fail("the text %q is %.0f mm wide, on the sheet %q there are %.0f: shorten it", text, s.width(text),
			p.title,
			width)
	}
	return p.put(x, y, s, text)
}

// prose sets a text in lines under y and returns where the last one ends.
func (p *page) prose(x, y, width float64, s style, text string) float64 {
	for _, line := range wrap(text, width, s) {
		p.put(x, y+s.cap()+(s.line()-s.cap())/2, s, line)
		y += s.line()
	}
	return y
}

// proseHeight is what prose will take.
func proseHeight(width float64, s style, text string) float64 {
	return float64(len(wrap(text, width, s))) * s.line()
}

// wrap breaks a text into lines no wider than width, in mm.
func wrap(text string, width float64, s style) []string {
	return paper.Break(held.Replace(text), func(line string) bool { return s.width(line) <= width })
}

// held keeps numbers and their units on one line.
var held = strings.NewReplacer(" mm", "\u00a0mm", " cm", "\u00a0cm", " %", "\u00a0%")
