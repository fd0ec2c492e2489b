package guide

import (
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"calotte/layout"
	"calotte/layout/head"
)

// cautions is the back of the first sheet: what to ask, all cautions, and the
// places for what was found on the wearer.
func (b *book) cautions(sheet string) {
	p, y := b.start(sheet, b.Caution.Title, 1)
	y = b.asked(p, y)
	y = b.allCautions(p, y+5)
	b.records(sheet, p, y+4)
}

func (b *book) heading(p *page, y float64, text string) float64 {
	s := style{size: 16, bold: true}
	return p.prose(p.left(), y, p.span(), s, text) + 1.5
}

func (b *book) asked(p *page, y float64) float64 {
	const columns, row = 2, tickSize + 2.5
	p.open("ask", b.Caution.Ask)
	defer p.close()
	y = b.heading(p, y, b.Caution.Ask)
	width := p.span() / columns
	rows := int(math.Ceil(float64(len(b.Caution.Asked)) / columns))
	for i, text := range b.Caution.Asked {
		x, top := p.left()+float64(i/rows)*width, y+float64(i%rows)*row
		p.tick(x, top)
		s := stepText
		p.fit(x+tickSize+2.5, top+tickSize/2+s.cap()/2, width-tickSize-4, s, text)
	}
	return p.prose(p.left(), y+float64(rows)*row, p.span(), stepBold, b.Caution.Stop)
}

func (b *book) allCautions(p *page, y float64) float64 {
	const heads = 30.0 // mm
	p.open("full", b.Caution.Full)
	defer p.close()
	y = b.heading(p, y, b.Caution.Full)
	for _, c := range b.Caution.Rules {
		bottom := p.prose(p.left(), y, heads-3, bodyBold, c.Head)
		y = max(bottom, p.prose(p.left()+heads, y, p.span()-heads, body, c.Text)) + 1.2
	}
	return p.prose(p.left(), y+1, p.span(), stepBold, b.Caution.Last)
}

// records are the places for what was found, with what the visit notes already.
// Many words go on to a next page.
func (b *book) records(sheet string, p *page, y float64) {
	const names = 46.0
	p.open("records", b.Caution.Record)
	defer func() { p.close() }()
	y = b.heading(p, y, b.Caution.Record)
	for _, place := range b.noteKinds() {
		noted := b.noted(place.kind)
		if words := p.span() - tickSize - 2.5 - names; y+max(tickSize,
			proseHeight(words, bodyBold, noted)+2) > p.room() {
			p.close()
			p, y = b.start(sheet, fill(b.Common.Continued, "title", b.Caution.Title), 1)
			p.open("records", b.Caution.Record)
		}
		p.tick(p.left(), y)
		x := p.left() + tickSize + 2.5
		p.fit(x, y+tickSize/2+stepText.cap()/2, names-2, stepText, place.name)
		x += names
		bottom := y + tickSize
		if noted != "" {
			p.cross(p.left(), y)
			bottom = max(bottom, p.prose(x, y+tickSize/2-bodyBold.line()/2, p.right()-x, bodyBold, noted))
		} else {
			w := p.put(x, y+tickSize-.8, small, b.Caution.Where)
			p.stroke(thin, r2.Vec{X: x + w + 2, Y: y + tickSize}, r2.Vec{X: p.right(), Y: y + tickSize})
		}
		y = bottom + 3
	}
}

// cross ticks a box.
func (p *page) cross(x, y float64) {
	const in = 1.6
	p.stroke(heavy, r2.Vec{X: x + in, Y: y + in}, r2.Vec{X: x + tickSize - in, Y: y + tickSize - in})
	p.stroke(heavy, r2.Vec{X: x + in, Y: y + tickSize - in}, r2.Vec{X: x + tickSize - in, Y: y + in})
}

// noted joins the visit's notes of a kind.
func (b *book) noted(kind head.NoteKind) string {
	var list []string
	for _, n := range b.visit.Notes {
		if n.Kind == kind {
			list = append(list, b.noteWhere(n))
		}
	}
	return strings.Join(list, "; ")
}

// noteWhere is the side and place of a note.
func (b *book) noteWhere(n head.Note) string {
	sides := map[layout.Side]string{layout.LeftSide: b.Common.Left, layout.RightSide: b.Common.Right,
		layout.Midline: b.Caution.Midline}
	return strings.TrimSuffix(sides[n.Side]+": "+n.Place, ": ")
}

// noteText is a note in short, in a line. The inion is nowhere but on the
// midline.
func (b *book) noteText(n head.Note) string {
	n.Place = inShort(n.Place)
	kind, where := "", b.noteWhere(n)
	for _, k := range b.noteKinds() {
		if k.kind == n.Kind {
			kind = k.name
		}
	}
	if n.Kind == head.InionUncertain {
		where = n.Place
	}
	return strings.TrimSuffix(kind+", "+where, ", ")
}

// inShort cuts a place that is no longer short at a blank, visibly.
func inShort(place string) string {
	const most = 60 // characters
	runes := []rune(place)
	if len(runes) <= most {
		return place
	}
	cut := string(runes[:most])
	if i := strings.LastIndexByte(cut, ' '); i > 0 {
		cut = cut[:i]
	}
	return cut + "…"
}

// A noteKind is a kind of note in the guide's words.
type noteKind struct {
	name string
	kind head.NoteKind
}

func (b *book) noteKinds() []noteKind {
	r := b.Caution.Recorded
	return []noteKind{
		{r.InionUncertain, head.InionUncertain}, {r.Scar, head.Scar}, {r.Shunt, head.Shunt},
		{r.Plate, head.Plate},
		{r.SkullDefect, head.SkullDefect},
	}
}
