package render

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/render/canvas"
)

const (
	// capColumns is where the text has room beside the drawing, and capShare the
	// drawing's share of the width there.
	capColumns = 140 * mm
	capShare   = .56
	columnGap  = 14 * vg.Length(1)
	blockGap   = 5 * vg.Length(1)
)

// layOut places the drawing and the text: beside it on a wide page, else below.
func (p *CapPlate) layOut(sites capSites) {
	width := p.cap.Width
	if width == 0 {
		width = defaultWidth
	}
	p.page.width = snapped(width)
	c := &p.page
	c.inner, c.y = c.width-2*pageMargin, pageMargin
	if p.cap.Title != "" {
		c.paragraph(p.cap.Title, pageMargin, c.inner, true)
	}
	c.paragraph(upperFirst(p.cap.verdict()), pageMargin, c.inner, p.cap.Title == "")
	c.y += blockGap
	if width < capColumns {
		p.placeMap(c, sites, c.inner)
		p.findings(c, pageMargin, c.inner)
		c.y += blockGap
		p.explain(c, pageMargin, c.inner)
	} else {
		top, column := c.y, capShare*c.inner
		p.placeMap(c, sites, column)
		bottom := c.y
		c.y = top
		x, rest := pageMargin+column+columnGap, c.inner-column-columnGap
		p.findings(c, x, rest)
		c.y += blockGap
		if c.y < bottom { // the legend goes where the page is emptier
			p.explain(c, x, rest)
			c.y = max(c.y, bottom)
		} else {
			right := c.y
			c.y = bottom
			p.explain(c, pageMargin, column)
			c.y = max(c.y, right)
		}
	}
	p.page.height = pixel * vg.Length(math.Ceil(float64((c.y+pageMargin)/pixel)))
}

// placeMap sizes the drawing to a column's width and places it, its names and
// arrows.
func (p *CapPlate) placeMap(c *leaf, sites capSites, column vg.Length) {
	head := TopView(p.cap.Head)
	swapped := p.cap.Check.Swap != layout.NoSwap
	letters := tickLength + 2.3 + regularWidth("RPA")
	size := func(right vg.Length) frame {
		return frame{right: right, front: right * vg.Length(head.Front/head.Right), view: head.disc()}
	}
	right := min(column/2-letters, mostAcross/2*vg.Length(head.Right))
	m := sites.newCapMap(size(right), swapped, 0)
	// Marks beyond the edge need room too; with the factor kept, a smaller map has
	// them nearer.
	for side, _, _ := m.beyond(); right+side > column/2-letters+.01; side, _, _ = m.beyond() {
		right -= max(right+side-(column/2-letters), .25)
		m = sites.newCapMap(size(right), swapped, m.enlarged)
	}
	p.drawing, p.Enlarged, p.Millimetres = m, m.enlarged, m.millimetres(sites.radius)

	side, up, down := m.beyond()
	height := canvas.CapHeight(canvas.Sans(textSize, false))
	area := vg.Rectangle{
		Min: vg.Point{X: -column / 2, Y: -m.frame.front - tickLength - down - 1.8 - height - descent},
		Max: vg.Point{X: column / 2, Y: m.frame.front*(1+noseHeight) + up + 1.8 + height},
	}
	p.moves = m.movesOf(p.cap.Check.Advice, area)
	bottom, top := area.Min.Y, area.Max.Y
	for _, v := range p.moves {
		bottom, top = min(bottom, v.box().Min.Y), max(top, v.box().Max.Y)
	}
	p.middle = vg.Point{X: snapped(pageMargin + column/2), Y: -snapped(c.y + top)}
	at := m.frame
	at.center = p.middle
	for _, l := range landmarkLetters(at) {
		switch l.text {
		case "Nz":
			l.at.Y += up
		case "Iz":
			l.at.Y -= down
		case "RPA":
			l.at.X += side
		case "LPA":
			l.at.X -= side
		}
		c.texts = append(c.texts, l)
	}
	p.names = m.placeNames()
	for _, n := range p.names {
		p.Named = append(p.Named, n.electrode)
	}
	c.y += top - bottom + rowGap
}

// findings are what to do, how the cap sits and what to beware of.
func (p *CapPlate) findings(c *leaf, x, width vg.Length) {
	k := &p.cap.Check
	heading := func(text string) {
		if c.y > pageMargin {
			c.y += blockGap
		}
		c.paragraph(text, x, width, true)
	}
	c.paragraph("What to do", x, width, true)
	indent := regularWidth(fmt.Sprintf("%d. ", len(k.Advice)))
	for i, a := range k.Advice {
		c.hanging(fmt.Sprintf("%d.", i+1), typeset(a.String()), x, indent, width)
	}
	if text := "How the cap sits"; k.Swap != layout.NoSwap {
		heading(text + ", once that is undone")
	} else {
		heading(text)
	}
	p.anglesText(c, x, width)
	if k.Height != 0 {
		c.paragraph(heightText(k.Height), x, width, false)
	}
	for _, text := range []string{p.cap.farthest(), p.cap.medians()} {
		c.paragraph(text, x, width, false)
	}
	if lines := p.cap.tapes(); len(lines) > 0 {
		heading("Tapes")
		for _, line := range lines {
			c.paragraph(line, x, width, false)
		}
	}
	if len(k.Warnings) > 0 {
		heading("Beware")
		for _, w := range k.Warnings {
			c.hanging("–", typeset(w), x, regularWidth("– "), width)
		}
	}
}

func heightText(h float64) string {
	word := "high"
	if h < 0 {
		word = "low"
	}
	return fmt.Sprintf("Beside the turn, %.1f\u00a0mm too %s all round.", math.Abs(h), word)
}

// anglesText sets the angles in three columns, the last wrapped.
func (p *CapPlate) anglesText(c *leaf, x, width vg.Length) {
	lines := p.cap.angles()
	var name, degrees vg.Length
	for _, a := range lines {
		name, degrees = max(name, regularWidth(a.name)), max(degrees, regularWidth(a.degrees))
	}
	second := x + name + textSize
	third := second + degrees + textSize
	for _, a := range lines {
		for i, words := range wrap(a.words, x+width-third, false) {
			c.y += lineHeight
			if i == 0 {
				c.text(a.name, x, false)
				c.text(a.degrees, second, false)
			}
			c.text(words, third, false)
		}
	}
}

// hanging sets a paragraph with its number to the left.
func (l *leaf) hanging(number, text string, x, indent, width vg.Length) {
	for i, line := range wrap(text, width-indent, false) {
		l.y += lineHeight
		if i == 0 {
			l.text(number, x, false)
		}
		l.text(line, x+indent, false)
	}
}
