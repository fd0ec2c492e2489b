package guide

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"calotte/layout"
)

// A cell is a mark with its tick box, name and distance.
type cell struct {
	name, note string
	distance   float64 // mm; NaN has none
	share      float64 // of the ring, in per cent
	size       float64 // of the name, in points; zero means 14
	box        boxKind
}

type boxKind int

const (
	electrodeBox boxKind = iota
	helperBox            // broken: a mark without electrode
	noBox
)

const (
	cellHeight = 15.0 // mm
	leastCell  = 32.5 // wide
	mostCell   = 43
	nameHeight = 5.2 // of it
	cellGap    = .8  // under the instruction
	rowGap     = 1.8
)

// cell sets one with its upper left corner at x, y.
func (p *page) cell(x, y, width float64, c cell) {
	text := x
	if c.box != noBox {
		box := y + cellHeight - tickSize - .6
		if math.IsNaN(c.distance) {
			box = y
		}
		if c.box == helperBox {
			p.dashedTick(x, box)
		} else {
			p.tick(x, box)
		}
		text += tickSize + 1.8
	}
	width -= text - x
	baseline := y + nameHeight - 1.2
	if math.IsNaN(c.distance) {
		baseline = y + tickSize/2 + stepBold.cap()/2
	}
	note := 0.
	if c.note != "" {
		note = small.width(c.note) + 1.5
	}
	name := stepBold
	if c.size > 0 {
		name.size = c.size
	}
	w := p.fit(text, baseline, width-note-1, name, c.name)
	if c.note != "" {
		p.put(text+w+1.5, baseline, small, c.note)
	}
	if !math.IsNaN(c.distance) {
		p.put(text, y+cellHeight-1.2, distance, layout.Centimetres(c.distance))
	}
}

// cells sets a row, or as many rows as the width takes, with a label before the
// first where there is one.
func (f *flow) cells(label string, list []cell) {
	x := f.p.left() + sideLabel
	perRow := int((f.p.span() - sideLabel) / leastCell)
	width := min(mostCell, (f.p.span()-sideLabel)/float64(min(perRow, max(1, len(list)))))
	f.need(f.rowsHeight(min(len(list), 3*perRow))) // a side of the ring stays together
	for i := 0; i < len(list); i += perRow {
		f.need(cellHeight)
		if i == 0 && label != "" {
			f.side(label)
		}
		for k, c := range list[i:min(i+perRow, len(list))] {
			f.p.cell(x+float64(k)*width, f.y, width, c)
		}
		f.y += cellHeight + rowGap
	}
}

const sideLabel = 20 // mm

// rowsHeight is what n cells will take.
func (f *flow) rowsHeight(n int) float64 {
	return math.Ceil(float64(n)*leastCell/(f.p.span()-sideLabel)) * (cellHeight + rowGap)
}

// side names a side of the wearer beside a row, in lines.
func (f *flow) side(label string) {
	f.p.prose(f.p.left(), f.y+cellHeight-tickSize-.6, sideLabel-2, bodyBold, label)
}

// rule is a thin line across the page.
func (f *flow) rule() {
	f.p.stroke(hair, r2.Vec{X: f.p.left(), Y: f.y}, r2.Vec{X: f.p.right(), Y: f.y})
}
