package chart

import (
	"errors"
	"fmt"
	"strings"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/paper"
)

// A Shares is a figure of shares over a number: how often a study finds an
// effect over how many people it has, say, with a curve for each number of
// epochs.
type Shares struct {
	Title   string
	X       string    // what is counted along, "people"
	At      []float64 // along, two or more, rising
	Curves  []Share
	Level   float64   // a dashed line to read against, from 0 to 1; 0: none
	Width   vg.Length // zero is 180 mm
	Caption string
}

// A Share is a curve: shares from 0 to 1 at each number, and the ends of their
// intervals.
type Share struct {
	Name             string
	Value, Low, High []float64
}

// A SharesPlate is Shares whose page is laid out. It is a canvas.Figure.
type SharesPlate struct {
	shares *Shares
	page   *chartPage
	chart  Chart
	legend []vg.Point
}

// Compose checks the shares and lays out the page.
func (s *Shares) Compose() (*SharesPlate, error) {
	if len(s.At) < 2 || len(s.Curves) == 0 {
		return nil, errors.New("shares are drawn over two numbers or more, a curve or more of them")
	}
	if most := len(strokes()); len(s.Curves) > most {
		return nil, fmt.Errorf("%d curves cannot be told apart: at most %d", len(s.Curves), most)
	}
	for _, c := range s.Curves {
		for _, list := range [][]float64{c.Value, c.Low, c.High} {
			if len(list) != len(s.At) {
				return nil, fmt.Errorf("%s has %d shares, of %d", c.Name, len(list), len(s.At))
			}
			for _, v := range list {
				if !(v >= 0 && v <= 1) {
					return nil, fmt.Errorf("%s has the share %g: expected 0 to 1", c.Name, v)
				}
			}
		}
	}
	page, err := newChartPage(s.Width)
	if err != nil {
		return nil, err
	}
	p := &SharesPlate{shares: s, page: page}
	p.layOut()
	return p, nil
}

func (p *SharesPlate) layOut() {
	s, page := p.shares, p.page
	page.paragraph(s.Title, true)
	page.y += 2
	var names []string
	for _, c := range s.Curves {
		names = append(names, c.Name)
	}
	p.legend = page.legend(names)
	last := s.At[len(s.At)-1]
	room := (last - s.At[0]) / 30
	p.chart = Chart{X: NewAxis(s.X, s.At[0]-room, last+room, 8), Y: NewAxis("rehearsals, %", 0, 100, 6)}
	page.y += AboveRoom
	height := min(.45*page.width, 70*paper.MM)
	p.chart.Rect = rect(paper.Margin+LeftRoom(p.chart.Y), page.y, page.width-paper.Margin-paper.TextSize,
		page.y+height)
	page.texts = append(page.texts, p.chart.Texts()...)
	page.y += height + BelowRoom + 2
	if s.Caption != "" {
		page.paragraph(s.Caption, false)
	}
	page.finish()
}

// Size of the page, in whole picture elements.
func (p *SharesPlate) Size() (width, height vg.Length) { return p.page.width, p.page.height }

// Title is that of the shares.
func (p *SharesPlate) Title() string { return p.shares.Title }

// Description says in words what is shown.
func (p *SharesPlate) Description() string {
	var texts []string
	for _, c := range p.shares.Curves {
		var points []string
		for i, x := range p.shares.At {
			points = append(points, fmt.Sprintf("%.0f %% at %g", 100*c.Value[i], x))
		}
		texts = append(texts, c.Name+": "+strings.Join(points, ", "))
	}
	return strings.Join(texts, "; ") + " " + p.shares.X + ". " + p.shares.Caption
}

// Draw draws the shares, a dot with a whisker at each number and lines between.
func (p *SharesPlate) Draw(c canvas.Canvas) {
	s, at := p.shares, &p.chart
	p.page.onPage(c, func() {
		styles := strokes()
		drawSamples(c, p.legend, styles)
		if s.Level > 0 {
			c.SetLineDash([]vg.Length{2, 1.5}, 0)
			paper.Stroke(c, paper.Straight(at.Point(at.X.Low, 100*s.Level), at.Point(at.X.High, 100*s.Level)),
				paper.Faded(.5), .5)
			c.SetLineDash(nil, 0)
		}
		for k, curve := range s.Curves {
			stroke := styles[k]
			percent := make([]float64, len(curve.Value))
			for i, x := range s.At {
				percent[i] = 100 * curve.Value[i]
				paper.Stroke(c, paper.Straight(at.Point(x, 100*curve.Low[i]), at.Point(x, 100*curve.High[i])),
					stroke.Colour, .9)
				var dot vg.Path
				paper.Circle(&dot, at.Point(x, percent[i]), 2)
				c.SetColor(stroke.Colour)
				c.Fill(dot)
			}
			at.Curve(c, s.At, percent, stroke)
		}
		at.DrawAxes(c)
	})
}
