package guide

import (
	"gonum.org/v1/gonum/spatial/r2"

	"calotte/layout"
)

// across sets the sites that no straight tape reaches: left ones on the left.
func (f *flow) across(p *plan) {
	marks := p.aside()
	if len(marks) == 0 {
		return
	}
	pairs := 0
	for _, m := range marks {
		if twin := p.byName[m.name.Mirror()]; m.name.Side() == layout.LeftSide || twin == nil {
			pairs++
		}
	}
	f.step(f.Sheet1.Crossing, float64(min(pairs, 5))*crossingHeight+crossingTop)
	f.crossingHead()
	done := map[layout.Name]bool{}
	for _, m := range marks {
		if done[m.name] {
			continue
		}
		done[m.name], done[m.name.Mirror()] = true, true
		page := f.p
		f.need(crossingHeight)
		if f.p != page {
			f.crossingHead()
		}
		f.crossingPair(p, m)
		f.y += crossingHeight
	}
}

const (
	crossingHeight = 14.0
	crossingTop    = 6.5 // the line that names the sides
)

func (f *flow) crossingHead() {
	half := f.p.span() / 2
	f.p.put(f.p.left(), f.y+bodyBold.cap()+1, bodyBold, f.Common.Left)
	f.p.put(f.p.left()+half+3, f.y+bodyBold.cap()+1, bodyBold, f.Common.Right)
	f.y += crossingTop - 1
	f.rule()
	f.y += 1
}

func (f *flow) crossingPair(p *plan, m *mark) {
	half := f.p.span() / 2
	x := f.p.left()
	for _, n := range []layout.Name{m.name, m.name.Mirror()} {
		one := p.byName[n]
		if one == nil || one.crossings == nil {
			continue
		}
		at := x
		if one.name.Side() == layout.RightSide {
			at += half + 3
		}
		f.crossing(at, half-3, one)
	}
	mid := f.p.left() + half
	f.p.stroke(hair, r2.Vec{X: mid, Y: f.y - 1}, r2.Vec{X: mid, Y: f.y + crossingHeight - 1})
	f.p.stroke(hair, r2.Vec{X: x, Y: f.y + crossingHeight - 1}, r2.Vec{X: f.p.right(), Y: f.y + crossingHeight - 1})
}

func (f *flow) crossing(x, width float64, m *mark) {
	box := f.y + crossingHeight - tickSize - 2.6
	if m.electrode {
		f.p.tick(x, box)
	} else {
		f.p.dashedTick(x, box)
	}
	const names = 26.0 // mm of box and name
	f.p.fit(x+tickSize+1.8, box+tickSize/2+stepBold.of(16).cap()/2, names-tickSize-3, stepBold.of(16),
		string(m.name))
	step := (width - names) / crossingMarks
	for i, c := range m.crossings {
		at := x + names + float64(i)*step
		f.p.fit(at, f.y+2.9, step-1, style{size: 10}, fill(f.Common.From, "site", string(c.from)))
		f.p.put(at, f.y+crossingHeight-2.8, distance, layout.Centimetres(c.distance))
	}
}
