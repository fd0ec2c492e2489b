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
	// titledPitch is the same where each map has a title of its own.
	titledPitch = 26 * mm
	// mostAcross is the width of a map that has room to spare, and mostDown the
	// height that all of them together should not exceed on a printed page.
	mostAcross = 84 * mm
	mostDown   = 200 * mm
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
	if c.sideBySide() {
		c.conditions()
	} else {
		for i := range s.Rows {
			c.row(i)
		}
	}
	p.furniture = make([]furniture, len(s.Rows))
	each(len(s.Rows), func(i int) { p.furniture[i] = p.furnish(i) })
	c.placeLegend()
	p.page.height = pixel * vg.Length(math.Ceil(float64((c.y+pageMargin)/pixel)))
	return nil
}

// snapped is the nearest whole number of picture elements.
func snapped(l vg.Length) vg.Length { return pixel * vg.Length(math.Round(float64(l/pixel))) }

// sideBySide reports whether rows stand beside each other: where there is but
// one latency.
func (c *composer) sideBySide() bool {
	return len(c.plate.sheet.Columns) == 1 && len(c.plate.sheet.Rows) > 1
}

// sizeMaps decides how many maps stand in a line, wide enough for their texts,
// lines as equal as can be, and how large they are.
func (c *composer) sizeMaps() {
	s := c.plate.sheet
	least, n, stacks := leastPitch, len(s.Columns), len(s.Rows)
	for _, text := range s.Columns {
		least = max(least, regularWidth(text)+.7*textSize)
	}
	if c.sideBySide() {
		least, n, stacks = titledPitch, len(s.Rows), 1
	}
	most := max(1, int(c.inner/least))
	lines := (n + most - 1) / most
	c.perLine = (n + lines - 1) / lines
	c.pitch = c.inner / vg.Length(c.perLine)

	c.letters = c.pitch >= letterPitch
	side := tickLength + 1
	if c.letters {
		side = tickLength + 2.3 + regularWidth("LPA")
	}
	gap := min(max(.05*c.pitch, 1), 12)
	head := TopView(s.Head)
	across := min(c.pitch-gap-2*side, mostAcross*vg.Length(head.Right))
	if tallest := mostDown/vg.Length(lines*stacks) - 5*lineHeight; tallest > leastPitch {
		across = min(across, tallest*vg.Length(head.Right/head.Front))
	}
	c.shape = frame{
		right: across / 2, front: across / 2 * vg.Length(head.Front/head.Right),
		view: head.disc(),
	}
}

// conditions places one map for each row, several to a line, under the one
// latency.
func (c *composer) conditions() {
	c.paragraph(c.plate.sheet.Columns[0], pageMargin, c.inner, false)
	c.y += 3
	n := len(c.plate.sheet.Rows)
	for first := 0; first < n; first += c.perLine {
		last := min(first+c.perLine, n)
		var headings [][]textLine
		for i := first; i < last; i++ {
			headings = append(headings, c.heading(&c.plate.sheet.Rows[i]))
		}
		c.centred(headings)
		c.line(c.plate.panels[first:last])
	}
}

// heading is a row's title and note in lines as wide as a map.
func (c *composer) heading(r *Row) []textLine {
	var lines []textLine
	for _, text := range wrap(r.Title, c.pitch-textSize, true) {
		lines = append(lines, textLine{text: text, bold: true})
	}
	for _, text := range wrap(r.note(), c.pitch-textSize, false) {
		lines = append(lines, textLine{text: text})
	}
	return lines
}

// note says that it is not known how much data there are, if need be.
func (r *Row) note() string {
	if r.Note == "" {
		return "number of people and epochs not known"
	}
	return r.Note
}

// row places a row's title and its maps.
func (c *composer) row(i int) {
	row := &c.plate.sheet.Rows[i]
	c.rowTitle(row.Title, row.note())
	n := len(c.plate.sheet.Columns)
	for first := 0; first < n; first += c.perLine {
		last := min(first+c.perLine, n)
		if i == 0 || n > c.perLine {
			var latencies [][]textLine
			for _, text := range c.plate.sheet.Columns[first:last] {
				var lines []textLine
				for _, t := range wrap(text, c.pitch-2, false) {
					lines = append(lines, textLine{text: t})
				}
				latencies = append(latencies, lines)
			}
			c.centred(latencies)
		}
		c.line(c.plate.panels[i*n+first : i*n+last])
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

// centred sets lines of text over each map of a line of maps. The last lines
// share a baseline.
func (c *composer) centred(columns [][]textLine) {
	most := 0
	for _, lines := range columns {
		most = max(most, len(lines))
	}
	for depth := range most {
		c.y += lineHeight
		for i, lines := range columns {
			if k := depth - (most - len(lines)); k >= 0 {
				c.text(lines[k].text, c.middle(i)-lines[k].width()/2, lines[k].bold)
			}
		}
	}
	c.y += 2
}

// middle is where the i-th map of a line is centred.
func (c *composer) middle(i int) vg.Length {
	return snapped(pageMargin + c.pitch*(vg.Length(i)+.5))
}

// line places maps beside each other.
func (c *composer) line(panels []*panel) {
	above := c.shape.front * (1 + noseHeight)
	below := c.shape.front + tickLength
	if c.letters {
		above += lineHeight
		below += lineHeight
	}
	center := c.y + above
	for i, p := range panels {
		p.frame = c.shape
		p.frame.center = vg.Point{X: c.middle(i), Y: -snapped(center)}
		if c.letters {
			c.texts = append(c.texts, landmarkLetters(p.frame)...)
		}
	}
	c.y = center + below + rowGap
}

// landmarkLetters names the four landmarks outside the outline.
func landmarkLetters(f frame) []textLine {
	const gap = 1.8 * vg.Length(1)
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
	for _, line := range wrapEvenly(text, width, bold) {
		c.y += lineHeight
		c.text(line, x, bold)
	}
}
