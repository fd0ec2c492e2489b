package cap

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/layout/capcheck"
	"calotte/render/canvas"
	"calotte/render/paper"
	"calotte/render/scalp"
)

const (
	// capColumns is where the text has room beside the drawing, and
	// capShare the drawing's share of the width there.
	capColumns = 140 * paper.MM
	capShare   = .56
	columnGap  = 14 * vg.Length(1)
	blockGap   = 5 * vg.Length(1)
)

// layOut places the drawing and the text: beside it on a wide page, else below.
func (p *Plate) layOut(sites sites) {
	width := p.cap.Width
	if width == 0 {
		width = paper.DefaultWidth
	}
	p.page.Width = paper.Snapped(width)
	c := &p.page
	c.Inner, c.Y = c.Width-2*paper.Margin, paper.Margin
	if p.cap.Title != "" {
		c.Paragraph(p.cap.Title, paper.Margin, c.Inner, true)
	}
	c.Paragraph(upperFirst(p.cap.verdict()), paper.Margin, c.Inner, p.cap.Title == "")
	c.Y += blockGap
	if width < capColumns {
		p.placeMap(c, sites, c.Inner)
		p.findings(c, paper.Margin, c.Inner)
		c.Y += blockGap
		p.explain(c, paper.Margin, c.Inner)
	} else {
		top, column := c.Y, capShare*c.Inner
		p.placeMap(c, sites, column)
		bottom := c.Y
		c.Y = top
		x, rest := paper.Margin+column+columnGap, c.Inner-column-columnGap
		p.findings(c, x, rest)
		c.Y += blockGap
		if c.Y < bottom { // the legend goes where the page is emptier
			p.explain(c, x, rest)
			c.Y = max(c.Y, bottom)
		} else {
			right := c.Y
			c.Y = bottom
			p.explain(c, paper.Margin, column)
			c.Y = max(c.Y, right)
		}
	}
	p.page.Height = paper.Pixel * vg.Length(math.Ceil(float64((c.Y+paper.Margin)/paper.Pixel)))
}

// placeMap sizes the drawing to a column's width and places it, its names and
// arrows.
func (p *Plate) placeMap(c *paper.Page, sites sites, column vg.Length) {
	head := scalp.TopView(p.cap.Head)
	swapped := p.cap.Check.Swap != capcheck.NoSwap
	letters := paper.TickLength + 2.3 + paper.Width("RPA")
	size := func(right vg.Length) scalp.Frame {
		return scalp.Frame{Right: right, Front: right * vg.Length(head.Front/head.Right), View: head.Disc()}
	}
	right := min(column/2-letters, scalp.MostAcross/2*vg.Length(head.Right))
	m := sites.newCapMap(size(right), swapped, 0)
	// Marks beyond the edge need room too; with the factor kept, a smaller
	// map has them nearer.
	for side, _, _ := m.beyond(); right+side > column/2-letters+.01; side, _, _ = m.beyond() {
		right -= max(right+side-(column/2-letters), .25)
		m = sites.newCapMap(size(right), swapped, m.enlarged)
	}
	p.drawing, p.Enlarged, p.Millimetres = m, m.enlarged, m.millimetres(sites.radius)

	side, up, down := m.beyond()
	height := canvas.CapHeight(canvas.Sans(paper.TextSize, false))
	area := vg.Rectangle{
		Min: vg.Point{X: -column / 2,
			Y: -m.frame.Front - paper.TickLength - down - 1.8 - height - paper.Descent},
		Max: vg.Point{X: column / 2, Y: m.frame.Front*(1+scalp.NoseHeight) + up + 1.8 + height},
	}
	p.moves = m.movesOf(p.cap.Check.Advice, area)
	bottom, top := area.Min.Y, area.Max.Y
	for _, v := range p.moves {
		bottom, top = min(bottom, v.box().Min.Y), max(top, v.box().Max.Y)
	}
	p.middle = vg.Point{X: paper.Snapped(paper.Margin + column/2), Y: -paper.Snapped(c.Y + top)}
	at := m.frame
	at.Center = p.middle
	for _, l := range scalp.LandmarkLetters(at) {
		switch l.Text {
		case "Nz":
			l.At.Y += up
		case "Iz":
			l.At.Y -= down
		case "RPA":
			l.At.X += side
		case "LPA":
			l.At.X -= side
		}
		c.Texts = append(c.Texts, l)
	}
	p.names = m.placeNames()
	for _, n := range p.names {
		p.Named = append(p.Named, n.electrode)
	}
	c.Y += top - bottom + paper.RowGap
}

// findings are what to do, how the cap sits and what to beware of.
func (p *Plate) findings(c *paper.Page, x, width vg.Length) {
	k := &p.cap.Check
	heading := func(text string) {
		if c.Y > paper.Margin {
			c.Y += blockGap
		}
		c.Paragraph(text, x, width, true)
	}
	c.Paragraph("What to do", x, width, true)
	indent := paper.Width(fmt.Sprintf("%d. ", len(k.Advice)))
	for i, a := range k.Advice {
		c.Hanging(fmt.Sprintf("%d.", i+1), typeset(a.String()), x, indent, width)
	}
	if text := "How the cap sits"; k.Swap != capcheck.NoSwap {
		heading(text + ", once that is undone")
	} else {
		heading(text)
	}
	p.anglesText(c, x, width)
	if layout.SignedTenths(k.Height) != "0.0" {
		c.Paragraph(heightText(k.Height), x, width, false)
	}
	for _, text := range []string{p.cap.farthest(), p.cap.medians()} {
		c.Paragraph(text, x, width, false)
	}
	if lines := p.cap.tapes(); len(lines) > 0 {
		heading("Tapes")
		for _, line := range lines {
			c.Paragraph(line, x, width, false)
		}
	}
	if len(k.Warnings) > 0 {
		heading("Beware")
		for _, w := range k.Warnings {
			c.Hanging("–", typeset(w), x, paper.Width("– "), width)
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
func (p *Plate) anglesText(c *paper.Page, x, width vg.Length) {
	lines := p.cap.angles()
	var name, degrees vg.Length
	for _, a := range lines {
		name, degrees = max(name, paper.Width(a.name)), max(degrees, paper.Width(a.degrees))
	}
	second := x + name + paper.TextSize
	third := second + degrees + paper.TextSize
	for _, a := range lines {
		for i, words := range paper.Wrap(a.words, x+width-third, false) {
			c.Y += paper.LineHeight
			if i == 0 {
				c.Text(a.name, x, false)
				c.Text(a.degrees, second, false)
			}
			c.Text(words, third, false)
		}
	}
}
