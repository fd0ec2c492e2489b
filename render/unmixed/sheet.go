package unmixed

import (
	"errors"
	"fmt"
	"strings"

	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/canvas"
	"calotte/render/paper"
	"calotte/render/scalp"
)

// A Row is one component.
type Row struct {
	Title    string      // its number and what it looks like
	Remove   bool        // whether it is suggested to be removed
	Lines    []string    // the numbers behind that
	Map      []float64   // a site each of the sheet's Sites, µV
	Site     string      // where the courses are given
	Courses  [][]float64 // condition × sample of the sheet's Times, µV
	Spectrum []float64   // by Hz from 0, µV²/Hz, mean over sites
	Pieces   [][]float64 // of a second each, µV
}

// A Sheet is all components of a person.
type Sheet struct {
	Name       string
	Sites      []layout.Site // in the order of the rows' maps
	Head       head.Ellipsoid
	Conditions []string  // whose courses are drawn
	Times      []float64 // s, of the courses
	Rows       []Row
	Caption    string
	Synthetic  bool
}

// Room of a row, and how many stand on a page, so that it fits A4.
const (
	rowHeight = 74 * vg.Length(1)
	rowsAPage = 10
)

// Columns of the page, in points from the left.
const (
	mapLeft      = 116 * vg.Length(1)
	mapWidth     = 58 * vg.Length(1)
	courseLeft   = 204 * vg.Length(1)
	courseWidth  = 106 * vg.Length(1)
	powerLeft    = 340 * vg.Length(1)
	powerWidth   = 62 * vg.Length(1)
	piecesLeft   = 432 * vg.Length(1)
	piecesWidth  = 72 * vg.Length(1)
	chartTop     = 6 * vg.Length(1)  // below the top of the row
	chartBottom  = 16 * vg.Length(1) // above its bottom
	mostHz       = 60
	leastHz      = 1
	mostInCharts = 3 // ticks
)

// A page of the sheet. It is a canvas.Figure.
type sheetPage struct {
	sheet  *Sheet
	number int
	rows   []placedRow
	page   paper.Page
}

// Pages checks the sheet and lays out its pages.
func (s *Sheet) Pages() ([]canvas.Figure, error) {
	if len(s.Rows) == 0 {
		return nil, errors.New("the sheet has no component")
	}
	var pages []canvas.Figure
	count := (len(s.Rows) + rowsAPage - 1) / rowsAPage
	for k := range count {
		p := &sheetPage{sheet: s, number: k + 1}
		p.page = paper.Page{Width: paper.DefaultWidth,
			Inner: paper.DefaultWidth - 2*paper.Margin,
			Y:     paper.Margin}
		p.header(count)
		for _, row := range s.Rows[k*rowsAPage : min(len(s.Rows), (k+1)*rowsAPage)] {
			placed, err := s.place(row, -p.page.Y)
			if err != nil {
				return nil, fmt.Errorf("component %s: %w", row.Title, err)
			}
			p.rows = append(p.rows, placed)
			p.page.Texts = append(p.page.Texts, placed.texts...)
			p.page.Y += rowHeight
		}
		p.page.Height = p.page.Y + paper.Margin
		pages = append(pages, p)
	}
	return pages, nil
}

// header is the title, the caption on the first page, and the columns' names.
func (p *sheetPage) header(count int) {
	s := p.sheet
	title := fmt.Sprintf("%s: independent components, sheet %d of %d", s.Name, p.number, count)
	if s.Synthetic {
		title += " (synthetic data)"
	}
	p.page.Paragraph(title, paper.Margin, p.page.Inner, true)
	if p.number == 1 {
		p.page.Paragraph(s.Caption, paper.Margin, p.page.Inner, false)
	}
	p.page.Y += paper.LineHeight
	courses := "mean at the events, µV over s"
	if len(s.Conditions) > 0 {
		courses = "mean, µV over s: " + strings.Join(s.Conditions, ", ")
	}
	p.page.Y += paper.LineHeight
	for _, column := range []struct {
		name  string
		left  vg.Length
		width vg.Length
	}{{"map", mapLeft, mapWidth}, {courses, courseLeft - 20, courseWidth + 20},
		{"power, dB over Hz", powerLeft - 20, powerWidth + 20},
		{"largest pieces, µV over s", piecesLeft - 20, piecesWidth + 20}} {
		lines := paper.Wrap(column.name, column.width, false)
		if len(lines) > 2 {
			lines = append(lines[:1], lines[1]+" …")
		}
		for i, line := range lines {
			p.page.Texts = append(p.page.Texts, paper.Line{Text: line,
				At: vg.Point{X: column.left,
					Y: -(p.page.Y - paper.LineHeight + vg.Length(i)*paper.LineHeight)}})
		}
	}
	p.page.Y += paper.LineHeight
}

// Size of the page.
func (p *sheetPage) Size() (width, height vg.Length) { return p.page.Width, p.page.Height }

// Title is that of the document.
func (p *sheetPage) Title() string { return p.sheet.Name + ": independent components" }

// Description says in words what is shown.
func (p *sheetPage) Description() string {
	var rows []string
	for _, r := range p.rows {
		rows = append(rows, r.Title+": "+decision(r.Remove))
	}
	return fmt.Sprintf("A row a component: its map, its mean course at the events, its spectrum and its largest "+
		"pieces. %s. %s", strings.Join(rows, "; "), p.sheet.Caption)
}

// decision is what is suggested, in words.
func decision(remove bool) string {
	if remove {
		return "remove"
	}
	return "keep"
}

// Draw draws the rows.
func (p *sheetPage) Draw(c canvas.Canvas) {
	c.Push()
	c.Translate(vg.Point{Y: p.page.Height})
	for _, r := range p.rows {
		c.Group("", r.Title)
		r.draw(c)
		c.End()
	}
	for _, t := range p.page.Texts {
		t.Draw(c)
	}
	c.Pop()
}

// mapOf is the map of a row; nil where there are too few sites.
func (s *Sheet) mapOf(values []float64) (*scalp.Map, error) {
	const least = 4 // sites of a spline
	if len(s.Sites) < least {
		return nil, nil
	}
	m, err := scalp.NewMap(s.Sites, values)
	if err != nil {
		return nil, err
	}
	m.Head = s.Head
	m.Marks = []scalp.Mark{}
	return m, nil
}
