package scalp

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/internal/parallel"
	"calotte/render/paper"
)

const (
	leastWidth = 40 * paper.MM

	// leastPitch is from the middle of a map to the next: twelve in 180 mm.
	leastPitch = 41 * vg.Length(1)
	// titledPitch is the same where each map has a title of its own.
	titledPitch = 26 * paper.MM
	// MostAcross is the width of a map that has room to spare, and mostDown
	// the height that all of them together should not exceed on a printed
	// page.
	MostAcross = 84 * paper.MM
	mostDown   = 200 * paper.MM
	// letterPitch is where maps are large enough for the landmarks'
	// letters.
	letterPitch = 55 * paper.MM
)

// A page holds the places of everything on a sheet.
type page struct {
	paper.Page
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
	shapes []Frame
}

func (p *Plate) layOut() error {
	s := p.sheet
	width := s.Width
	if width == 0 {
		width = paper.DefaultWidth
	}
	if width < leastWidth {
		return fmt.Errorf("a sheet %.0f mm wide has no room for its text: at least %.0f mm", width/paper.MM,
			leastWidth/paper.MM)
	}
	p.page.Width = paper.Snapped(width)
	p.page.Inner, p.page.Y = p.page.Width-2*paper.Margin, paper.Margin
	c := composer{page: &p.page, plate: p}
	c.sizeMaps()
	switch {
	case c.sideBySide():
		c.conditions()
	case c.around():
		c.Paragraph(s.Columns[0], paper.Margin, c.Inner, false)
		c.Y += 3
		for i := range s.Rows {
			c.turned(i)
		}
	default:
		for i := range s.Rows {
			c.row(i)
		}
	}
	p.furniture = make([]furniture, len(p.panels)/len(s.Columns))
	parallel.Each(len(p.furniture), func(i int) { p.furniture[i] = p.furnish(i) })
	c.placeLegend()
	p.page.Height = paper.Pixel * vg.Length(math.Ceil(float64((c.Y+paper.Margin)/paper.Pixel)))
	return nil
}

// sideBySide reports whether rows stand beside each other: where there is but
// one latency, seen from one side.
func (c *composer) sideBySide() bool {
	return len(c.plate.sheet.Columns) == 1 && len(c.plate.sheet.Rows) > 1 && len(c.shapes) == 1
}

// around reports whether the views of a row stand beside each other: where
// there is but one latency.
func (c *composer) around() bool { return len(c.plate.sheet.Columns) == 1 && len(c.shapes) > 1 }

// sizeMaps decides how many maps stand in a line, wide enough for their texts,
// lines as equal as can be, and how large they are.
func (c *composer) sizeMaps() {
	s := c.plate.sheet
	for _, v := range s.views() {
		c.shapes = append(c.shapes, Frame{View: s.projection(v)})
	}
	least, n, stacks := leastPitch, len(s.Columns), len(s.Rows)*len(c.shapes)
	for _, text := range s.Columns {
		least = max(least, paper.Width(text)+.7*paper.TextSize)
	}
	switch {
	case c.sideBySide():
		least, n, stacks = titledPitch, len(s.Rows), 1
	case c.around():
		least, n, stacks = titledPitch, len(c.shapes), len(s.Rows)
	}
	most := max(1, int(c.Inner/least))
	lines := (n + most - 1) / most
	c.perLine = (n + lines - 1) / lines
	c.pitch = c.Inner / vg.Length(c.perLine)

	c.letters = c.pitch >= letterPitch
	side := paper.TickLength + 1
	if c.letters {
		side = paper.TickLength + 2.3 + paper.Width("LPA")
	}
	gap := min(max(.05*c.pitch, 1), 12)
	broad, tall := 0., 0. // the half-axes that need most room
	for _, f := range c.shapes {
		broad, tall = max(broad, f.View.Right), max(tall, f.View.Front)
	}
	unit := min((c.pitch-gap-2*side)/2/vg.Length(broad), MostAcross/2)
	if tallest := mostDown/vg.Length(lines*stacks) - 5*paper.LineHeight; tallest > leastPitch {
		unit = min(unit, tallest/2/vg.Length(tall))
	}
	for i := range c.shapes {
		f := &c.shapes[i]
		f.Right, f.Front = unit*vg.Length(f.View.Right), unit*vg.Length(f.View.Front)
	}
}

// conditions places one map for each row, several to a line, under the one
// latency.
func (c *composer) conditions() {
	c.Paragraph(c.plate.sheet.Columns[0], paper.Margin, c.Inner, false)
	c.Y += 3
	n := len(c.plate.sheet.Rows)
	for first := 0; first < n; first += c.perLine {
		last := min(first+c.perLine, n)
		var headings [][]paper.Line
		for i := first; i < last; i++ {
			headings = append(headings, c.heading(&c.plate.sheet.Rows[i]))
		}
		c.centred(headings)
		c.line(c.plate.panels[first:last])
	}
}

// heading is a row's title and note in lines as wide as a map.
func (c *composer) heading(r *Row) []paper.Line {
	var lines []paper.Line
	for _, text := range paper.Wrap(r.Title, c.pitch-paper.TextSize, true) {
		lines = append(lines, paper.Line{Text: text, Bold: true})
	}
	for _, text := range paper.Wrap(r.note(), c.pitch-paper.TextSize, false) {
		lines = append(lines, paper.Line{Text: text})
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
		var names [][]paper.Line
		for _, f := range c.shapes[first:last] {
			names = append(names, []paper.Line{{Text: "from " + views[f.View.View].from}})
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
			c.Y += paper.LineHeight
			c.Text("from "+views[f.View.View].from, paper.Margin, false)
			c.Y += 2
		}
		for first := 0; first < n; first += c.perLine {
			last := min(first+c.perLine, n)
			if i == 0 && view == 0 || n > c.perLine {
				var latencies [][]paper.Line
				for _, text := range s.Columns[first:last] {
					var lines []paper.Line
					for _, t := range paper.Wrap(text, c.pitch-2, false) {
						lines = append(lines, paper.Line{Text: t})
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
	const between = paper.TextSize
	titleWidth := canvas.TextWidth(canvas.Sans(paper.TextSize, true), title)
	if title != "" && titleWidth+between+paper.Width(note) <= c.Inner {
		c.Y += paper.LineHeight
		c.Text(title, paper.Margin, true)
		c.Text(note, paper.Margin+titleWidth+between, false)
	} else {
		c.Paragraph(title, paper.Margin, c.Inner, true)
		c.Paragraph(note, paper.Margin, c.Inner, false)
	}
	c.Y += 3
}

// centred sets lines of text over each map of a line of maps. The last lines
// share a baseline.
func (c *composer) centred(columns [][]paper.Line) {
	most := 0
	for _, lines := range columns {
		most = max(most, len(lines))
	}
	for depth := range most {
		c.Y += paper.LineHeight
		for i, lines := range columns {
			if k := depth - (most - len(lines)); k >= 0 {
				c.Text(lines[k].Text, c.middle(i)-lines[k].Width()/2, lines[k].Bold)
			}
		}
	}
	c.Y += 2
}

// middle is where the i-th map of a line is centred.
func (c *composer) middle(i int) vg.Length {
	return paper.Snapped(paper.Margin + c.pitch*(vg.Length(i)+.5))
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
		letters = paper.LineHeight
	}
	for i, p := range panels {
		p.frame = c.shapes[p.view]
		top := c.Y + letters + (height-p.frame.above()-p.frame.below())/2
		p.frame.Center = vg.Point{X: c.middle(i), Y: -paper.Snapped(top + p.frame.above())}
		if c.letters {
			c.Texts = append(c.Texts, LandmarkLetters(p.frame)...)
		}
	}
	c.Y += height + 2*letters + paper.RowGap
}

// LandmarkLetters names the landmarks outside the outline.
func LandmarkLetters(f Frame) []paper.Line {
	const gap = 1.8 * vg.Length(1)
	height := canvas.CapHeight(canvas.Sans(paper.TextSize, false))
	var letters []paper.Line
	for _, l := range landmarks[f.View.View] {
		width := paper.Width(l.name)
		at := f.at(l)
		switch l.outward {
		case r2.Vec{Y: 1}:
			at.X -= width / 2
			at.Y += f.Front*NoseHeight + gap
		case r2.Vec{Y: -1}:
			at.X -= width / 2
			at.Y -= paper.TickLength + gap + height
		case r2.Vec{X: 1}: // beside the widest of the head, where nothing is in the way
			at.X = f.Center.X + f.Right + paper.TickLength + gap
			at.Y -= height / 2
		case r2.Vec{X: -1}:
			at.X = f.Center.X - f.Right - paper.TickLength - gap - width
			at.Y -= height / 2
		}
		letters = append(letters, paper.Line{Text: l.name, At: at})
	}
	return letters
}
