package guide

import (
	"strconv"

	"gonum.org/v1/gonum/spatial/r2"

	"calotte/layout"
)

// ladder is the shares of arcs and rings in a table, and what an error costs.
func (b *book) ladder() {
	p, y := b.start(sheetBlank, b.Blank.LadderTitle, 1)
	arcs := rungs(240, 420, 10)
	p.open("arcs", b.Blank.LadderArcs)
	y = b.heading(p, y, b.Blank.LadderArcs)
	y = b.rungTable(p, y, arcs, []float64{10, 20, 50}) + 5
	p.close()
	p.open("ring", b.Blank.LadderRing)
	y = b.heading(p, y, b.Blank.LadderRing)
	y = b.rungTable(p, y, rungs(480, 640, 10), []float64{5, 15, 25, 35, 45}) + 5
	p.close()
	b.errorCost(p, y)
}

func rungs(from, to, step float64) []float64 {
	var list []float64
	for v := from; v <= to; v += step {
		list = append(list, v)
	}
	return list
}

// rungTable sets lengths in two blocks, with their shares beside them.
func (b *book) rungTable(p *page, y float64, lengths, shares []float64) float64 {
	const blocks, row = 2, 6.6
	s := style{size: 13}
	width := (p.span() - 8) / blocks
	column := width / float64(len(shares)+1)
	rows := (len(lengths) + blocks - 1) / blocks
	for k := range blocks {
		x := p.left() + float64(k)*(width+8)
		p.fit(x+column-3, y+3.6, column-3, bodyBold.rightward(), b.Blank.LadderLength)
		for i, share := range shares {
			p.fit(x+float64(i+2)*column-3, y+3.6, column-3, bodyBold.rightward(),
				fill(b.Blank.Percent, "percent", strconv.FormatFloat(share, 'f', -1, 64)))
		}
		p.stroke(firm, r2.Vec{X: x, Y: y + 5.2}, r2.Vec{X: x + width, Y: y + 5.2})
		for i, mm := range lengths[k*rows : min((k+1)*rows, len(lengths))] {
			base := y + 5.2 + float64(i+1)*row - 1.3
			bold := s
			bold.bold = true
			p.put(x+column-3, base, bold.rightward(), layout.Centimetres(mm))
			for n, share := range shares {
				p.put(x+float64(n+2)*column-3, base, s.rightward(), shareOf(mm, share))
			}
			p.stroke(hair, r2.Vec{X: x, Y: base + 1.3}, r2.Vec{X: x + width, Y: base + 1.3})
		}
	}
	return y + 5.2 + float64(rows)*row
}

// inionError is an inion taken too low, in mm: each midline mark moves by its
// own share of it.
const inionError = 10

func (b *book) errorCost(p *page, y float64) {
	p.open("error", b.Blank.ErrorTitle)
	defer p.close()
	y = b.heading(p, y, b.Blank.ErrorTitle)
	y = p.prose(p.left(), y, p.span(), stepText, fill(b.Blank.ErrorText, "error", strconv.Itoa(inionError)))
	names := []string{"Fpz", "Fz", "Cz", "Pz", "Oz"}
	step := p.span() / float64(len(names))
	for i, n := range names {
		x := p.left() + float64(i)*step
		w := p.put(x, y+10, stepBold, n)
		w += p.put(x+w+2, y+10, distance, strconv.Itoa(inionError*(2*i+1)/10)) + 2
		p.put(x+w+1.5, y+10, body, b.Blank.ErrorUnit)
	}
	p.prose(p.left(), y+13, p.span(), body, fill(b.Blank.ErrorRule, "page", "2"))
}
