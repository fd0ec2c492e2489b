package chart

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/paper"
)

// Ways is a figure of one number taken in alternative ways: the values with
// their intervals beside each other, and below them which options each way took.
type Ways struct {
	Title   string
	Unit    string // of the values
	Choices []WayChoice
	Ways    []Way     // from left to right
	Width   vg.Length // zero is 180 mm
	Caption string
}

// A WayChoice is what may be done in one way or another.
type WayChoice struct {
	Name    string
	Options []string
}

// A Way is a value, and the options that it took, by choice.
type Way struct {
	Value, Low, High float64
	Options          []int
	Strong           bool // full, else open
	Marked           bool // with a ring
}

// A WaysPlate is Ways whose page is laid out. It is a canvas.Figure.
type WaysPlate struct {
	ways  *Ways
	page  *chartPage
	chart Chart
	rows  []vg.Length // of the options, one after the other, down from the top of the page
}

// Compose checks the ways and lays out the page.
func (s *Ways) Compose() (*WaysPlate, error) {
	if len(s.Ways) < 2 || len(s.Choices) == 0 {
		return nil, errors.New("a figure of ways needs two or more, and what they chose")
	}
	low, high := 0., 0.
	for i, w := range s.Ways {
		if len(w.Options) != len(s.Choices) {
			return nil, fmt.Errorf("way %d took %d options of %d choices", i+1, len(w.Options), len(s.Choices))
		}
		for k, o := range w.Options {
			if o < 0 || o >= len(s.Choices[k].Options) {
				return nil, fmt.Errorf("way %d took option %d of %s, which has %d", i+1, o+1, s.Choices[k].Name,
					len(s.Choices[k].Options))
			}
		}
		for _, v := range []float64{w.Value, w.Low, w.High} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("way %d has the value %g: expected a number", i+1, v)
			}
			low, high = min(low, v), max(high, v)
		}
	}
	page, err := newChartPage(s.Width)
	if err != nil {
		return nil, err
	}
	p := &WaysPlate{ways: s, page: page}
	p.layOut(RoundedAxis(s.Unit, low, high, 6))
	return p, nil
}

func (p *WaysPlate) layOut(y Axis) {
	s, page := p.ways, p.page
	page.paragraph(s.Title, true)
	page.y += 3 + AboveRoom
	names := LeftRoom(y)
	for _, c := range s.Choices {
		names = max(names, paper.Line{Text: c.Name, Bold: true}.Width())
		for _, o := range c.Options {
			names = max(names, paper.TextSize+paper.Width(o)+chartGap)
		}
	}
	height := min(.3*page.width, 50*paper.MM)
	x := downAxis(len(s.Ways))
	x.Low, x.High = x.High, x.Low
	p.chart = Chart{X: x, Y: y, Rect: rect(paper.Margin+names, page.y, page.width-paper.Margin, page.y+height)}
	page.texts = append(page.texts, p.chart.Texts()...)
	page.y += height + paper.LineHeight/2
	for _, c := range s.Choices {
		page.y += paper.LineHeight
		page.texts = append(page.texts, paper.Line{Text: c.Name, Bold: true,
			At: vg.Point{X: paper.Margin, Y: -(page.y - paper.Descent)}})
		for _, o := range c.Options {
			page.y += paper.LineHeight
			page.texts = append(page.texts, paper.Line{Text: o,
				At: vg.Point{X: paper.Margin + paper.TextSize, Y: -(page.y - paper.Descent)}})
			p.rows = append(p.rows, page.y-paper.LineHeight/2)
		}
		page.y += 2
	}
	if s.Caption != "" {
		page.y += 4
		page.paragraph(s.Caption, false)
	}
	page.finish()
}

// Size of the page, in whole picture elements.
func (p *WaysPlate) Size() (width, height vg.Length) { return p.page.width, p.page.height }

// Title is that of the figure.
func (p *WaysPlate) Title() string { return p.ways.Title }

// Description says in words what is shown.
func (p *WaysPlate) Description() string {
	s := p.ways
	first, last := s.Ways[0], s.Ways[len(s.Ways)-1]
	return fmt.Sprintf("%s in %d ways, from %s to %s. %s", s.Unit, len(s.Ways), paper.Number(first.Value, 3),
		paper.Number(last.Value, 3), s.Caption)
}

// Draw draws the values, and below each the options that it took.
func (p *WaysPlate) Draw(c canvas.Canvas) {
	s, at := p.ways, &p.chart
	pitch := at.Rect.Size().X / vg.Length(len(s.Ways))
	radius := min(1.8, pitch/2.6)
	p.page.onPage(c, func() {
		at.DrawAxes(c)
		for i, w := range s.Ways {
			x := float64(i) + .5
			paper.Stroke(c, paper.Straight(at.Point(x, w.Low), at.Point(x, w.High)), paper.Faded(.6), min(.7, pitch/4))
			dot(c, at.Point(x, w.Value), radius, w.Strong)
			if w.Marked {
				var ring vg.Path
				paper.Circle(&ring, at.Point(x, w.Value), radius+2)
				paper.Stroke(c, ring, paper.Ink, .7)
			}
			row := 0
			for k, choice := range s.Choices {
				for o := range choice.Options {
					if w.Options[k] == o {
						dot(c, vg.Point{X: at.Point(x, 0).X, Y: -p.rows[row]}, radius, true)
					}
					row++
				}
			}
		}
	})
}

// dot is full or open.
func dot(c canvas.Canvas, at vg.Point, radius vg.Length, full bool) {
	var path vg.Path
	paper.Circle(&path, at, radius)
	if full {
		paper.Fill(c, path, paper.Ink)
		return
	}
	paper.Fill(c, path, paper.Pale)
	paper.Stroke(c, path, paper.Ink, .8)
}
