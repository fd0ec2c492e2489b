package guide

import (
	"strconv"

	"gonum.org/v1/gonum/spatial/r2"
)

// A flow sets blocks under each other and goes to a next page where one has no
// room. A block knows its height before it is set.
type flow struct {
	*book
	p            *page
	y            float64
	sheet, title string
	steps        int
	// turned is called before a page is continued on another.
	turned func()
}

func (b *book) flow(sheet, title string) *flow {
	f := &flow{book: b, sheet: sheet, title: title}
	f.p, f.y = b.start(sheet, title, 1)
	return f
}

// need goes to the next page unless h mm are left on this one.
func (f *flow) need(h float64) {
	if f.y+h <= f.p.room() {
		return
	}
	if f.turned != nil {
		f.turned()
		f.turned = nil
	}
	f.p, f.y = f.start(f.sheet, fill(f.Common.Continued, "title", f.title), 1)
}

const (
	stepDisc   = 4.2 // mm, radius
	stepIndent = sideLabel - 8
	stepGap    = 3.2 // between a step and the next
)

// step sets the next numbered instruction and keeps it on a page with the h mm
// that follow.
func (f *flow) step(text string, h float64) {
	width := f.p.span() - stepIndent
	tall := max(proseHeight(width, stepText, text), 2*stepDisc)
	f.need(tall + 1 + h)
	f.steps++
	c := r2.Vec{X: f.p.left() + stepDisc, Y: f.y + stepDisc}
	f.p.disc(black, c, stepDisc)
	number := stepBold.white().centred()
	f.p.put(c.X, c.Y+number.cap()/2, number, strconv.Itoa(f.steps))
	f.p.prose(f.p.left()+stepIndent, f.y+max(0, stepDisc-stepText.line()/2), width, stepText, text)
	f.y += tall + 1
}
