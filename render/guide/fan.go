package guide

import (
	"strconv"

	"gonum.org/v1/gonum/spatial/r2"
)

// The fan's outer lines are as far apart as a folded tape is long, from
// fanLeast to fanMost mm; between them the others divide it in proportion,
// wherever it lies across them.
const (
	fanLeast = 100.0
	fanMost  = 210.0
)

// fanShares are the lines, in shares of the folded tape: its fifths are tenths
// of an arc folded in half, and its half is the arc's quarter.
var fanShares = []struct {
	share     float64
	arc, ring string // per cent of an arc folded in half, of a ring in quarters
}{
	{0, "0", "0"}, {.2, "10", "5"}, {.4, "20", "10"}, {.5, "25", "12.5"}, {.6, "30", "15"}, {.8, "40", "20"},
	{1, "50", "25"},
}

// A fanPlace is where the fan lies on a page. The tape lies upright: one of d
// mm lies where the outer lines are d apart.
type fanPlace struct{ left, right, middle float64 }

// fanColumn is left of the fan and right of it, for the percentages.
const fanColumn = 19.0 // mm

func fanOn(p *page, top float64) fanPlace {
	return fanPlace{p.left() + fanColumn, p.right() - fanColumn, (top + p.room()) / 2}
}

// at is the point at a share of a tape of d mm.
func (f fanPlace) at(d, share float64) r2.Vec {
	return r2.Vec{X: f.left + (d-fanLeast)/(fanMost-fanLeast)*(f.right-f.left), Y: f.middle + d*(share-.5)}
}

// fan is a sheet of converging lines that divides a tape of any length without
// a number.
func (b *book) fan() {
	p, y := b.start(sheetBlank, b.Blank.FanTitle, 1)
	p.open("fan", b.Blank.FanTitle)
	defer p.close()
	// The texts stand in the corners that the fan leaves free.
	const width = 88.0
	s := style{size: 12}
	p.prose(p.left(), y, width, s, b.Blank.FanArc)
	p.prose(p.left(), p.room()-proseHeight(width, s, b.Blank.FanRing), width, s, b.Blank.FanRing)

	f := fanOn(p, y)
	for _, s := range fanShares {
		line := thin
		if s.share == 0 || s.share == .5 || s.share == 1 {
			line = heavy
		}
		near, far := f.at(fanLeast, s.share), f.at(fanMost, s.share)
		p.stroke(line, near, far)
		p.put(near.X-2, near.Y+stepBold.cap()/2, stepBold.rightward(), s.ring)
		p.put(far.X+2, far.Y+stepBold.cap()/2, stepBold, s.arc)
	}
	for d := fanLeast; d <= fanMost+1e-9; d += 10 {
		p.dashed(hair, f.at(d, 0), f.at(d, 1))
		if int(d)%20 == 0 && d > fanLeast {
			v := f.at(d, 0)
			p.put(v.X-1.2, v.Y-1.5, small.rightward(), strconv.Itoa(int(d)/10))
		}
	}
	head := bodyBold.centred()
	p.fit(f.left-fanColumn/2, f.at(fanLeast, 0).Y-6, fanColumn, head, b.Blank.FanQuarter+" %")
	p.fit(f.right+fanColumn/2, f.at(fanMost, 0).Y-6, fanColumn, head, b.Blank.FanWhole+" %")
}
