package render

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/vg"
)

// A chartPage is filled from the top with charts and text, y negative downward.
type chartPage struct {
	width, height vg.Length
	y             vg.Length // how far down it is filled
	texts         []textLine
}

const leastChartWidth = 80 * mm

// newChartPage refuses a width that has no room for charts; zero is 180 mm.
func newChartPage(width vg.Length) (*chartPage, error) {
	if width == 0 {
		width = defaultWidth
	}
	if !(width >= leastChartWidth) || math.IsInf(float64(width), 1) {
		return nil, fmt.Errorf("a figure of charts %.0f mm wide has no room for its text: at least %.0f mm", width/mm, leastChartWidth/mm)
	}
	return &chartPage{width: snapped(width), y: pageMargin}, nil
}

func (p *chartPage) inner() vg.Length { return p.width - 2*pageMargin }

// paragraph sets text in lines below each other.
func (p *chartPage) paragraph(text string, bold bool) {
	for _, line := range wrapEvenly(text, p.inner(), bold) {
		p.y += lineHeight
		p.texts = append(p.texts, textLine{text: line, at: vg.Point{X: pageMargin, Y: -(p.y - descent)}, bold: bold})
	}
}

// finish closes the page below what is on it.
func (p *chartPage) finish() {
	p.height = pixel * vg.Length(math.Ceil(float64((p.y+pageMargin)/pixel)))
}

// rect is a rectangle of the page by its distances from the upper left corner.
func rect(left, top, right, bottom vg.Length) vg.Rectangle {
	return vg.Rectangle{Min: vg.Point{X: left, Y: -bottom}, Max: vg.Point{X: right, Y: -top}}
}

// onPage moves the origin to the upper left corner while draw draws.
func (p *chartPage) onPage(c vg.Canvas, draw func()) {
	c.Push()
	c.Translate(vg.Point{Y: p.height})
	draw()
	c.SetColor(ink)
	for _, t := range p.texts {
		t.draw(c)
	}
	c.Pop()
}
