package guide

import (
	"strconv"

	"gonum.org/v1/gonum/spatial/r2"

	"calotte/layout/head"
	"calotte/render/canvas"
)

// A book is the pages of a guide as they come into being.
type book struct {
	*Text
	o     *Options
	code  string // of the wearer; empty for the guide of any head
	visit head.Visit
	pages []*page
}

// The sheets' names, as they stand on them.
const (
	sheetBlank  = "0"
	sheetOne    = "1"
	sheetCap    = "1b"
	sheetChecks = "2"
	sheetHead   = "3"
	sheetStrips = "4"
)

const (
	badgeSize    = 12.0 // mm: the black square with the sheet's name
	headerHeight = 20.0
	footerHeight = 7.5
)

// start begins a page with its header and returns it with the y where its
// content begins.
func (b *book) start(sheet, title string, correction float64) (*page, float64) {
	p := newPage(b.o.Paper, correction, title)
	p.description = title + ". " + b.Common.Sides + " " + b.Common.Decide
	b.pages = append(b.pages, p)
	p.open("header", title)
	x, y := p.left(), p.top()
	p.area(black, corners(x, y, badgeSize, badgeSize)...)
	badge := style{size: 20, bold: true}.white().centred()
	p.fit(x+badgeSize/2, y+badgeSize/2+badge.cap()/2, badgeSize-2, badge, sheet)
	name := style{size: 20, bold: true}
	p.fit(x+badgeSize+4, y+name.cap()+.6, p.span()-badgeSize-4, name, title)
	b.who(p, x+badgeSize+4, y+badgeSize)
	p.stroke(firm, r2.Vec{X: x, Y: y + badgeSize + 3}, r2.Vec{X: p.right(), Y: y + badgeSize + 3})
	p.close()
	return p, y + headerHeight
}

// who fills in, or leaves lines for, the wearer's code, the date and initials.
func (b *book) who(p *page, x, baseline float64) {
	width := p.right() - x
	fields := []struct {
		label, value string
		share        float64
	}{
		{b.Common.Wearer, b.code, .52}, {b.Common.Date, b.o.Date, .27}, {b.Common.Initials, b.o.Initials, .21},
	}
	for _, f := range fields {
		w := width*f.share - 4
		used := p.fit(x, baseline, w/2, body, f.label) + 2
		if f.value != "" {
			p.fit(x+used, baseline, w-used, stepBold, f.value)
		} else {
			p.stroke(thin, r2.Vec{X: x + used, Y: baseline + .8}, r2.Vec{X: x + w, Y: baseline + .8})
		}
		x += width * f.share
	}
}

// finish writes the footers, now that the number of pages is known, and finds
// texts without room.
func (b *book) finish() ([]canvas.Figure, error) {
	figures := make([]canvas.Figure, len(b.pages))
	for i, p := range b.pages {
		p.below()
		y := p.bottom()
		p.open("footer", "")
		p.stroke(thin, r2.Vec{X: p.left(), Y: y - 5}, r2.Vec{X: p.right(), Y: y - 5})
		number := fill(b.Common.Page, "page", strconv.Itoa(i+1), "pages", strconv.Itoa(len(b.pages)))
		w := p.put(p.right(), y-.8, small.rightward(), number)
		p.fit(p.left(), y-.8, p.span()-w-4, small, b.Common.Sides+" "+b.Common.Decide)
		p.close()
		p.clash()
		if p.err != nil {
			return nil, p.err
		}
		figures[i] = p
	}
	return figures, nil
}

// room is the y above which content must end.
func (p *page) room() float64 { return p.bottom() - footerHeight }
