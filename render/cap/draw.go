package cap

import (
	"image/color"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/palette"
	"calotte/render/paper"
	"calotte/render/scalp"
)

const (
	plainWay  = .6 * vg.Length(1)
	markedWay = 1.3 * vg.Length(1)
	linkWidth = .8 * vg.Length(1)
)

// Draw draws the plate.
func (p *Plate) Draw(c canvas.Canvas) {
	c.Push()
	defer c.Pop()
	c.Translate(vg.Point{Y: p.page.Height})
	c.Push()
	c.Translate(p.middle)
	c.Group("cap", p.cap.verdict())
	p.drawing.draw(c)
	drawNames(c, p.names)
	c.End()
	c.Group("moves", "What to do")
	for _, v := range p.moves {
		v.draw(c)
	}
	c.End()
	c.Pop()
	c.Group("legend", "Legend")
	for _, s := range p.signs {
		p.drawSign(c, s)
	}
	c.End()
	c.SetColor(paper.Ink)
	for _, t := range p.page.Texts {
		t.Draw(c)
	}
}

// draw draws the head, the places, the ways and the marks, those to be seen on
// top.
func (m picture) draw(c canvas.Canvas) {
	c.SetLineDash(nil, 0)
	paper.Stroke(c, m.frame.Graticule(), paper.Faded(.3), .35)
	paper.Stroke(c, m.frame.LandmarkTicks(paper.TickLength), paper.Ink, .6)
	paper.Stroke(c, m.frame.Outline(), paper.Ink, scalp.OutlineWidth(m.frame))
	m.drawPlaces(c, m.ideal)
	for _, marked := range []bool{false, true} {
		m.drawMarks(c, m.marks, marked)
	}
	for _, l := range m.links {
		if path := m.link(l); path != nil {
			drawLink(c, path)
		}
	}
}

// drawMarks draws the electrodes that are marked, or the plain ones.
func (m picture) drawMarks(c canvas.Canvas, list []mark, marked bool) {
	var ways, marks vg.Path
	for _, k := range list {
		if k.marked() != marked {
			continue
		}
		if !m.swapped {
			ways.Move(k.from)
			ways.Line(k.to)
		}
		paper.Circle(&marks, k.to, m.markRadius(k.electrode))
	}
	paper.Stroke(c, ways, markColour(marked), wayWidth(marked, m.radius))
	paper.Fill(c, marks, markColour(marked))
}

// drawPlaces draws where electrodes belong.
func (m picture) drawPlaces(c canvas.Canvas, places []vg.Point) {
	var rings vg.Path
	for _, at := range places {
		paper.Circle(&rings, at, m.ringSize())
	}
	paper.Fill(c, rings, color.White)
	paper.Stroke(c, rings, paper.Faded(.75), min(.5, .4*m.radius))
}

func drawLink(c canvas.Canvas, path []vg.Point) {
	head := min(4, .25*distance(path[0], path[len(path)-1]))
	drawArrow(c, path, linkWidth, head, .55*head, true)
}

// markColour is dark red beyond the limit: in grey, size and weight still tell.
func markColour(marked bool) color.Color {
	if marked {
		return palette.Diverging.At(1)
	}
	return paper.Ink
}

// wayWidth is less where marks are small.
func wayWidth(marked bool, radius vg.Length) vg.Length {
	if marked {
		return markedWay * min(radius, 1)
	}
	return plainWay * min(radius, 1)
}
