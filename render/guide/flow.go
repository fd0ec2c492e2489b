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
	instruction  string // of the step that is being set
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
	if f.instruction != "" {
		f.instruct()
	}
}

const (
	stepDisc   = 4.2 // mm, radius
	stepIndent = sideLabel - 8
	stepGap    = 3.2 // between a step and the next
)

// step sets the next numbered instruction and keeps it on a page with the h mm
// that follow. Where the step goes on to another page, that repeats it.
func (f *flow) step(text string, h float64) {
	f.instruction = ""
	f.need(f.stepHeight(text) + h)
	f.steps++
	f.instruction = text
	f.instruct()
}

func (f *flow) stepHeight(text string) float64 {
	return max(proseHeight(f.p.span()-stepIndent, stepText, text), 2*stepDisc) + 1
}

// instruct sets the step's number and instruction.
func (f *flow) instruct() {
	c := r2.Vec{X: f.p.left() + stepDisc, Y: f.y + stepDisc}
	f.p.disc(black, c, stepDisc)
	number := stepBold.white().centred()
	f.p.put(c.X, c.Y+number.cap()/2, number, strconv.Itoa(f.steps))
	f.p.prose(f.p.left()+stepIndent, f.y+max(0, stepDisc-stepText.line()/2), f.p.span()-stepIndent, stepText,
		f.instruction)
	f.y += f.stepHeight(f.instruction)
}
