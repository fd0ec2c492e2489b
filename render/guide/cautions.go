package guide

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// cautions is the back of the first sheet: what to ask, all cautions, and the
// places for what was found on the wearer.
func (b *book) cautions(sheet string) {
	p, y := b.start(sheet, b.Caution.Title, 1)
	y = b.asked(p, y)
	y = b.allCautions(p, y+5)
	b.records(p, y+4)
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

func (b *book) records(p *page, y float64) {
	const row, names = tickSize + 3.0, 46.0
	p.open("records", b.Caution.Record)
	defer p.close()
	y = b.heading(p, y, b.Caution.Record)
	for _, text := range b.Caution.Recorded {
		p.tick(p.left(), y)
		x := p.left() + tickSize + 2.5
		p.fit(x, y+tickSize/2+stepText.cap()/2, names-2, stepText, text)
		w := p.put(x+names, y+tickSize-.8, small, b.Caution.Where)
		p.stroke(thin, r2.Vec{X: x + names + w + 2, Y: y + tickSize}, r2.Vec{X: p.right(), Y: y + tickSize})
		y += row
	}
}
