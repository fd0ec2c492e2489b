package render

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/internal/parallel"
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

// A leaf is a page that is filled with text from the top: lengths from the upper
// left corner, y negative downward.
type leaf struct {
	width, height vg.Length
	inner         vg.Length // width between the margins
	y             vg.Length // how far down it is filled
	texts         []textLine
}

// A page holds the places of everything on a sheet.
type page struct {
	leaf
	// perLine is how many maps stand side by side.
	perLine int
	// letters says that the landmarks are named.
	letters bool
	bars    []vg.Rectangle // one for each scale
	samples []sample
}

// A composer fills a page from the top.
type composer struct {
	*page
	plate *Plate
	pitch vg.Length
	// shapes are frames of the maps' size, one for each view.
	shapes []frame
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
	p.page.inner, p.page.y = p.page.width-2*pageMargin, pageMargin
	c := composer{page: &p.page, plate: p}
	c.sizeMaps()
	switch {
	case c.sideBySide():
		c.conditions()
	case c.around():
		c.paragraph(s.Columns[0], pageMargin, c.inner, false)
		c.y += 3
		for i := range s.Rows {
			c.turned(i)
		}
	default:
		for i := range s.Rows {
			c.row(i)
		}
	}
	p.furniture = make([]furniture, len(p.reaches))
	parallel.Each(len(p.furniture), func(i int) { p.furniture[i] = p.furnish(i) })
	c.placeLegend()
	p.page.height = pixel * vg.Length(math.Ceil(float64((c.y+pageMargin)/pixel)))
	return nil
}

// snapped is the nearest whole number of picture elements.
func snapped(l vg.Length) vg.Length { return pixel * vg.Length(math.Round(float64(l/pixel))) }

// sideBySide reports whether rows stand beside each other: where there is but
// one latency, seen from one side.
func (c *composer) sideBySide() bool {
	return len(c.plate.sheet.Columns) == 1 && len(c.plate.sheet.Rows) > 1 && len(c.shapes) == 1
}

// around reports whether the views of a row stand beside each other: where there is but
// one latency.
func (c *composer) around() bool { return len(c.plate.sheet.Columns) == 1 && len(c.shapes) > 1 }

// sizeMaps decides how many maps stand in a line, wide enough for their texts,
// lines as equal as can be, and how large they are.
func (c *composer) sizeMaps() {
	s := c.plate.sheet
	for _, v := range s.views() {
		c.shapes = append(c.shapes, frame{view: s.projection(v)})
	}
	least, n, stacks := leastPitch, len(s.Columns), len(s.Rows)*len(c.shapes)
	for _, text := range s.Columns {
		least = max(least, regularWidth(text)+.7*textSize)
	}
	switch {
	case c.sideBySide():
		least, n, stacks = titledPitch, len(s.Rows), 1
	case c.around():
		least, n, stacks = titledPitch, len(c.shapes), len(s.Rows)
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
	broad, tall := 0., 0. // the half-axes that need most room
	for _, f := range c.shapes {
		broad, tall = max(broad, f.view.Right), max(tall, f.view.Front)
	}
	unit := min((c.pitch-gap-2*side)/2/vg.Length(broad), mostAcross/2)
	if tallest := mostDown/vg.Length(lines*stacks) - 5*lineHeight; tallest > leastPitch {
		unit = min(unit, tallest/2/vg.Length(tall))
	}
	for i := range c.shapes {
		f := &c.shapes[i]
		f.right, f.front = unit*vg.Length(f.view.Right), unit*vg.Length(f.view.Front)
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

// turned places a row's title and its one map from every side.
func (c *composer) turned(i int) {
	row := &c.plate.sheet.Rows[i]
	c.rowTitle(row.Title, row.note())
	n := len(c.shapes)
	for first := 0; first < n; first += c.perLine {
		last := min(first+c.perLine, n)
		var names [][]textLine
		for _, f := range c.shapes[first:last] {
			names = append(names, []textLine{{text: "from " + views[f.view.View].from}})
		}
		c.centred(names)
		c.line(c.plate.panels[i*n+first : i*n+last])
	}
}

// row places a row's title and its maps, view by view.
func (c *composer) row(i int) {
	s := c.plate.sheet
	row := &s.Rows[i]
	c.rowTitle(row.Title, row.note())
	n := len(s.Columns)
	for view, f := range c.shapes {
		if len(c.shapes) > 1 {
			c.y += lineHeight
			c.text("from "+views[f.view.View].from, pageMargin, false)
			c.y += 2
		}
		for first := 0; first < n; first += c.perLine {
			last := min(first+c.perLine, n)
			if i == 0 && view == 0 || n > c.perLine {
				var latencies [][]textLine
				for _, text := range s.Columns[first:last] {
					var lines []textLine
					for _, t := range wrap(text, c.pitch-2, false) {
						lines = append(lines, textLine{text: t})
					}
					latencies = append(latencies, lines)
				}
				c.centred(latencies)
			}
			at := s.place(i, view, 0)
			c.line(c.plate.panels[at+first : at+last])
		}
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

// line places maps beside each other, their middles at one height.
func (c *composer) line(panels []*panel) {
	var height vg.Length
	for _, p := range panels {
		f := c.shapes[p.view]
		height = max(height, f.above()+f.below())
	}
	letters := vg.Length(0)
	if c.letters {
		letters = lineHeight
	}
	for i, p := range panels {
		p.frame = c.shapes[p.view]
		top := c.y + letters + (height-p.frame.above()-p.frame.below())/2
		p.frame.center = vg.Point{X: c.middle(i), Y: -snapped(top + p.frame.above())}
		if c.letters {
			c.texts = append(c.texts, landmarkLetters(p.frame)...)
		}
	}
	c.y += height + 2*letters + rowGap
}

// landmarkLetters names the landmarks outside the outline.
func landmarkLetters(f frame) []textLine {
	const gap = 1.8 * vg.Length(1)
	height := canvas.CapHeight(canvas.Sans(textSize, false))
	var letters []textLine
	for _, l := range landmarks[f.view.View] {
		width := regularWidth(l.name)
		at := f.at(l)
		switch l.outward {
		case r2.Vec{Y: 1}:
			at.X -= width / 2
			at.Y += f.front*noseHeight + gap
		case r2.Vec{Y: -1}:
			at.X -= width / 2
			at.Y -= tickLength + gap + height
		case r2.Vec{X: 1}: // beside the widest of the head, where nothing is in the way
			at.X = f.center.X + f.right + tickLength + gap
			at.Y -= height / 2
		case r2.Vec{X: -1}:
			at.X = f.center.X - f.right - tickLength - gap - width
			at.Y -= height / 2
		}
		letters = append(letters, textLine{text: l.name, at: at})
	}
	return letters
}

// text sets one line with its baseline where the page is filled to, less the
// letters' descent.
func (l *leaf) text(text string, x vg.Length, bold bool) {
	l.texts = append(l.texts, textLine{text: text, at: vg.Point{X: x, Y: -(l.y - descent)}, bold: bold})
}

// paragraph sets text in lines below each other.
func (l *leaf) paragraph(text string, x, width vg.Length, bold bool) {
	for _, line := range wrapEvenly(text, width, bold) {
		l.y += lineHeight
		l.text(line, x, bold)
	}
}
