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
	share       float64
	half, whole string // per cent of an arc in half, of a ring in quarters
}{
	{0, "0", "0"}, {.2, "10", "5"}, {.4, "20", "10"}, {.5, "25", "12.5"}, {.6, "30", "15"}, {.8, "40", "20"}, {1, "50", "25"},
}

// fan is a sheet of converging lines that divides a tape of any length without
// a number.
func (b *book) fan() {
	p, y := b.start(sheetBlank, b.Blank.FanTitle, 1)
	half := p.span()/2 - 3
	bottom := max(
		p.prose(p.left(), y, half, body, b.Blank.FanArc),
		p.prose(p.left()+half+6, y, half, body, b.Blank.FanRing),
	)
	p.open("fan", b.Blank.FanTitle)
	defer p.close()
	// The tape lies upright. A tape of d mm lies at x, where the outer lines are d
	// apart; columns for the percentages stand at both ends.
	const columns = 19.0
	left, right := p.left()+columns, p.right()-columns
	middle := (bottom + p.room()) / 2
	at := func(d, share float64) r2.Vec {
		return r2.Vec{X: left + (d-fanLeast)/(fanMost-fanLeast)*(right-left), Y: middle + d*(share-.5)}
	}
	for _, s := range fanShares {
		width := thin
		if s.share == 0 || s.share == .5 || s.share == 1 {
			width = heavy
		}
		p.stroke(width, at(fanLeast, s.share), at(fanMost, s.share))
		near, far := at(fanLeast, s.share), at(fanMost, s.share)
		p.put(near.X-2, near.Y+stepBold.cap()/2, stepBold.rightward(), s.whole)
		p.put(far.X+2, far.Y+stepBold.cap()/2, stepBold, s.half)
	}
	for d := fanLeast; d <= fanMost+1e-9; d += 10 {
		p.dashed(hair, at(d, 0), at(d, 1))
		if int(d)%20 == 0 && d > fanLeast {
			v := at(d, 0)
			p.put(v.X-1.2, v.Y-1.5, small.rightward(), strconv.Itoa(int(d)/10))
		}
	}
	s := bodyBold.centred()
	p.fit(left-columns/2, at(fanLeast, 0).Y-6, columns, s, b.Blank.FanQuarter+" %")
	p.fit(right+columns/2, at(fanMost, 0).Y-6, columns, s, b.Blank.FanWhole+" %")
}
