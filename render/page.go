package render

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
)

const (
	defaultWidth = 180 * mm
	leastWidth   = 40 * mm
	mm           = vg.Millimeter

	pageMargin = 4 * vg.Length(1)
	// leastPitch is from the middle of a map to the next: twelve in 180 mm.
	leastPitch = 41 * vg.Length(1)
	// mostAcross is the width of a map that has room to spare.
	mostAcross = 84 * mm
	// letterPitch is where maps are large enough for the landmarks' letters.
	letterPitch = 55 * mm
	rowGap      = 8 * vg.Length(1)
	tickLength  = 2 * vg.Length(1)
)

// A page holds the places of everything on a sheet, from the upper left
// corner, y negative downward.
type page struct {
	width, height vg.Length
	texts         []textLine
	// perLine is how many maps stand side by side.
	perLine int
	// letters says that the landmarks are named.
	letters bool
	legend  legend
}

// A composer fills a page from the top.
type composer struct {
	*page
	plate *Plate
	inner vg.Length // width between the margins
	y     vg.Length // how far down the page is filled
	pitch vg.Length
	// shape is a frame of the maps' size.
	shape frame
}

func (p *Plate) layOut() error {
	s := p.sheet
	width := s.Width
	if width == 0 {
		width = defaultWidth
	}
	if width < leastWidth {
		return fmt.Errorf("a sheet %.0f mm wide has no room for its text: at least %.0f mm", width/mm, leastWidth/mm)
	}
	p.page.width = snapped(width)
	c := composer{page: &p.page, plate: p, inner: p.page.width - 2*pageMargin, y: pageMargin}
	c.sizeMaps()
	for i := range s.Rows {
		if i > 0 {
			c.y += rowGap
		}
		c.row(i)
	}
	c.y += rowGap
	c.placeLegend()
	p.page.height = pixel * vg.Length(math.Ceil(float64((c.y+pageMargin)/pixel)))
	return nil
}

// snapped is the nearest whole number of picture elements.
func snapped(l vg.Length) vg.Length { return pixel * vg.Length(math.Round(float64(l/pixel))) }

// sizeMaps decides how many maps stand in a line, wide enough for their
// latencies, lines as equal as can be, and how large they are.
func (c *composer) sizeMaps() {
	least := leastPitch
	for _, text := range c.plate.sheet.Columns {
		least = max(least, regularWidth(text)+.7*textSize)
	}
	n := len(c.plate.sheet.Columns)
	most := max(1, int(c.inner/least))
	lines := (n + most - 1) / most
	c.perLine = (n + lines - 1) / lines
	c.pitch = c.inner / vg.Length(c.perLine)

	c.letters = c.pitch >= letterPitch
	side := tickLength + 1
	if c.letters {
		side = tickLength + 2 + regularWidth("LPA")
	}
	gap := min(max(.05*c.pitch, 1), 12)
	head := c.plate.sheet.Head
	if head == (Projection{}) {
		head = unitDisc
	}
	across := min(c.pitch-gap-2*side, mostAcross*vg.Length(max(head.Right, .5)))
	c.shape = frame{right: across / 2, front: across / 2 * vg.Length(head.Front/head.Right)}
}

// row places a row's title and its maps.
func (c *composer) row(i int) {
	row := &c.plate.sheet.Rows[i]
	note := row.Note
	if note == "" {
		note = "number of people and epochs not known"
	}
	c.rowTitle(row.Title, note)
	n := len(c.plate.sheet.Columns)
	wrapped := n > c.perLine
	for first := 0; first < n; first += c.perLine {
		if first > 0 {
			c.y += rowGap / 2
		}
		last := min(first+c.perLine, n)
		if i == 0 || wrapped {
			c.latencies(first, last)
		}
		c.line(i, first, last)
	}
}

// rowTitle sets the title in bold and the note after it, or below where the
// width does not hold both.
func (c *composer) rowTitle(title, note string) {
	const between = textSize
	titleWidth := canvas.TextWidth(canvas.Sans(textSize, true), title)
	if title != "" && titleWidth+between+regularWidth(note) <= c.inner {
		c.y += lineHeight
		c.text(title, pageMargin, true)
		c.text(note, pageMargin+titleWidth+between, false)
	} else {
		c.paragraph(title, pageMargin, c.inner, true)
		c.paragraph(note, pageMargin, c.inner, false)
	}
	c.y += 3
}

// latencies sets the texts of a line's columns, each centred over its map and
// standing on a common baseline.
func (c *composer) latencies(first, last int) {
	most := 0
	texts := make([][]string, last-first)
	for i := range texts {
		texts[i] = wrap(c.plate.sheet.Columns[first+i], c.pitch-2, false)
		most = max(most, len(texts[i]))
	}
	for line := range most {
		c.y += lineHeight
		for i, t := range texts {
			if k := line - (most - len(t)); k >= 0 {
				c.text(t[k], c.middle(i)-regularWidth(t[k])/2, false)
			}
		}
	}
	c.y += 2
}

// middle is where the i-th map of a line is centred.
func (c *composer) middle(i int) vg.Length {
	return snapped(pageMargin + c.pitch*(vg.Length(i)+.5))
}

// line places the maps of a row from column first to before last.
func (c *composer) line(row, first, last int) {
	above := c.shape.front * (1 + noseHeight)
	below := c.shape.front + tickLength
	if c.letters {
		above += lineHeight
		below += lineHeight
	}
	center := c.y + above
	for column := first; column < last; column++ {
		p := c.plate.panels[row*len(c.plate.sheet.Columns)+column]
		p.frame = c.shape
		p.frame.center = vg.Point{X: c.middle(column - first), Y: -snapped(center)}
		if c.letters {
			c.texts = append(c.texts, landmarkLetters(p.frame)...)
		}
	}
	c.y = center + below + 1
}

// landmarkLetters names the four landmarks outside the outline.
func landmarkLetters(f frame) []textLine {
	const gap = 1.5 * vg.Length(1)
	height := canvas.CapHeight(canvas.Sans(textSize, false))
	letters := make([]textLine, len(landmarks))
	for i, l := range landmarks {
		width := regularWidth(l.name)
		at := f.point(l.at)
		switch l.name {
		case "Nz":
			at.X -= width / 2
			at.Y += f.front*noseHeight + gap
		case "Iz":
			at.X -= width / 2
			at.Y -= tickLength + gap + height
		case "RPA":
			at.X += tickLength + gap
			at.Y -= height / 2
		case "LPA":
			at.X -= tickLength + gap + width
			at.Y -= height / 2
		}
		letters[i] = textLine{text: l.name, at: at}
	}
	return letters
}

// text sets one line with its baseline where the page is filled to, less the
// letters' descent.
func (c *composer) text(text string, x vg.Length, bold bool) {
	c.texts = append(c.texts, textLine{text: text, at: vg.Point{X: x, Y: -(c.y - descent)}, bold: bold})
}

// paragraph sets text in lines below each other.
func (c *composer) paragraph(text string, x, width vg.Length, bold bool) {
	for _, line := range wrap(text, width, bold) {
		c.y += lineHeight
		c.text(line, x, bold)
	}
}
