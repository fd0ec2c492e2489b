package cap

import (
	"fmt"
	"strings"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/paper"
)

// A sign is a sample in the legend, from the left end of the space for it.
type sign struct {
	kind signKind
	at   vg.Point
}

type signKind int

const (
	signPlace signKind = iota
	signWay
	signBeyond
	signExchanged
	signMove
	signBar
)

// explain sets the legend and the caption.
func (p *Plate) explain(c *paper.Page, x, width vg.Length) {
	const room = 28 * vg.Length(1)
	for _, item := range p.legendItems() {
		wide := max(room, p.signWidth(item.kind)+paper.TextSize)
		for i, line := range paper.Wrap(item.text, width-wide, false) {
			c.Y += paper.LineHeight
			c.Text(line, x+wide, false)
			if i == 0 {
				middle := canvas.CapHeight(canvas.Sans(paper.TextSize, false)) / 2
				p.signs = append(p.signs,
					sign{item.kind, vg.Point{X: x, Y: -(c.Y - paper.Descent) + middle}})
			}
		}
	}
	c.Y += 2
	c.Paragraph(strings.Join(p.caption(), " "), x, width, false)
}

type legendItem struct {
	kind signKind
	text string
}

func (p *Plate) legendItems() []legendItem {
	k := &p.cap.Check
	what := "electrode"
	if len(k.Sites) == 0 {
		what = "edge or vertex of the cap, as the tapes tell"
	}
	belongs := fmt.Sprintf("where an electrode belongs (%d)", len(p.drawing.ideal))
	if missing := len(p.drawing.ideal) - len(k.Sites); missing > 0 && len(k.Sites) > 0 {
		belongs = fmt.Sprintf("where an electrode belongs (%d, of which %d not measured)", len(p.drawing.ideal),
			missing)
	}
	items := []legendItem{{signPlace, belongs}}
	if p.drawing.swapped {
		items = append(items, legendItem{signWay,
			fmt.Sprintf("electrode (%d), named where it sits", len(p.drawing.marks))})
		if len(k.Beyond) > 0 {
			items = append(items, legendItem{signBeyond,
				fmt.Sprintf("the same, more than %s\u00a0mm off", paper.Number(k.Limit, 3))})
		}
		items = append(items, legendItem{signMove, "what to do: " + swapText[k.Swap]})
		return items
	}
	items = append(items, legendItem{signWay,
		fmt.Sprintf("%s (%d): from where it belongs to where it sits", what, len(p.drawing.marks))})
	if len(k.Beyond) > 0 {
		items = append(items, legendItem{signBeyond,
			fmt.Sprintf("the same, more than %s\u00a0mm off", paper.Number(k.Limit, 3))})
	}
	if len(p.drawing.links) > 0 {
		items = append(items, legendItem{signExchanged,
			"to be exchanged: each is drawn, and named, where it sits"})
	}
	if len(p.moves) > 0 {
		items = append(items, legendItem{signMove, "what to do: move the cap this way, along the scalp"})
	}
	scale := "the map’s scale"
	if p.Enlarged > 1 {
		scale = fmt.Sprintf("%g times the map’s scale", p.Enlarged)
	}
	return append(items, legendItem{signBar,
		fmt.Sprintf("%s\u00a0mm off, drawn at %s", paper.Number(p.bar(), 3), scale)})
}

// bar is the way that the scale bar shows: the limit, or a centimetre.
func (p *Plate) bar() float64 {
	if l := p.cap.Check.Limit; l > 0 && l <= 20 {
		return l
	}
	return 10
}

func (p *Plate) barLength() vg.Length {
	return vg.Length(p.bar()*p.Enlarged/p.Millimetres) * paper.MM
}

func (p *Plate) signWidth(kind signKind) vg.Length {
	if kind == signBar {
		return p.barLength()
	}
	return 20
}

// drawSign draws a sample.
func (p *Plate) drawSign(c canvas.Canvas, s sign) {
	const left, right = 3, 17 // of the ways' ends
	m := p.drawing
	from, to := s.at.Add(vg.Point{X: left}), s.at.Add(vg.Point{X: right})
	switch s.kind {
	case signPlace:
		m.drawPlaces(c, []vg.Point{s.at.Add(vg.Point{X: 10})})
	case signWay, signBeyond:
		beyond := s.kind == signBeyond
		k := mark{electrode{beyond: beyond}, from, to}
		if m.swapped {
			k.to = s.at.Add(vg.Point{X: 10})
		} else {
			m.drawPlaces(c, []vg.Point{from})
		}
		m.drawMarks(c, []mark{k}, beyond)
	case signExchanged:
		drawLink(c, []vg.Point{s.at, s.at.Add(vg.Point{X: 20})})
	case signMove:
		drawArrow(c, []vg.Point{s.at, s.at.Add(vg.Point{X: 20})}, moveWidth, headLength, headHalf,
			m.swapped && p.moves[0].both)
	case signBar:
		drawBarSign(c, s.at, p.barLength())
	}
}

// drawBarSign draws a length with ticks at its ends.
func drawBarSign(c canvas.Canvas, at vg.Point, length vg.Length) {
	const half = 2
	var bar vg.Path
	bar.Move(at)
	bar.Line(at.Add(vg.Point{X: length}))
	for _, x := range []vg.Length{.3, length - .3} {
		bar.Move(at.Add(vg.Point{X: x, Y: -half}))
		bar.Line(at.Add(vg.Point{X: x, Y: half}))
	}
	paper.Stroke(c, bar, paper.Ink, .6)
}
