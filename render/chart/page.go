package chart

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/vg"

	"calotte/render/paper"
)

// A chartPage is filled from the top with charts and text, y negative downward.
type chartPage struct {
	width, height vg.Length
	y             vg.Length // how far down it is filled
	texts         []paper.Line
}

const leastChartWidth = 80 * paper.MM

// newChartPage refuses a width that has no room for charts; zero is 180 mm.
func newChartPage(width vg.Length) (*chartPage, error) {
	if width == 0 {
		width = paper.DefaultWidth
	}
	if !(width >= leastChartWidth) || math.IsInf(float64(width), 1) {
		return nil, fmt.Errorf("a figure of charts %.0f mm wide has no room for its text: at least %.0f mm",
			width/paper.MM, leastChartWidth/paper.MM)
	}
	return &chartPage{width: paper.Snapped(width), y: paper.Margin}, nil
}

func (p *chartPage) inner() vg.Length { return p.width - 2*paper.Margin }

// paragraph sets text in lines below each other.
func (p *chartPage) paragraph(text string, bold bool) {
	for _, line := range paper.WrapEvenly(text, p.inner(), bold) {
		p.y += paper.LineHeight
		p.texts = append(p.texts,
			paper.Line{Text: line, At: vg.Point{X: paper.Margin, Y: -(p.y - paper.Descent)}, Bold: bold})
	}
}

// finish closes the page below what is on it.
func (p *chartPage) finish() {
	p.height = paper.Pixel * vg.Length(math.Ceil(float64((p.y+paper.Margin)/paper.Pixel)))
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
	c.SetColor(paper.Ink)
	for _, t := range p.texts {
		t.Draw(c)
	}
	c.Pop()
}
