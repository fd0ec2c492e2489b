package guide

import (
	"gonum.org/v1/gonum/spatial/r2"
)

// A place is a convex area of the page that belongs to one text, or to a box
// for writing when text is empty.
type place struct {
	text    string
	corners []r2.Vec
}

// below reports text or boxes under the y where the footer begins.
func (p *page) below() {
	for _, a := range p.taken {
		for _, v := range a.corners {
			if v.Y > p.room()+.5 {
				p.fail("the sheet %q is too long by %.0f mm at %q: shorten its texts", p.title,
					v.Y-p.room(),
					a.text)
				return
			}
		}
	}
}

// clash reports the first text that leaves the page's printable part, or
// touches another text or a box: a translation that is too long ends here.
func (p *page) clash() {
	for i, a := range p.taken {
		if a.text == "" {
			continue
		}
		for _, v := range a.corners {
			if v.X < p.left()-1 || v.X > p.right()+1 || v.Y < p.top()-1 || v.Y > p.bottom()+1 {
				p.fail("the text %q leaves the sheet %q: shorten it", a.text, p.title)
				return
			}
		}
		for j, b := range p.taken {
			if (j < i || b.text == "") && overlap(a.corners, b.corners) {
				p.fail("the text %q has no room beside %q on the sheet %q: shorten one", a.text, b.text,
					p.title)
				return
			}
		}
	}
}

// overlap tells whether two convex polygons share more than a hair, by looking
// for an edge with one on each side of it.
func overlap(a, b []r2.Vec) bool { return !parted(a, b) && !parted(b, a) }

func parted(a, b []r2.Vec) bool {
	const hairsbreadth = .02 // mm
	for i, v := range a {
		edge := r2.Unit(r2.Sub(a[(i+1)%len(a)], v))
		out := r2.Vec{X: edge.Y, Y: -edge.X}
		if r2.Dot(out, r2.Sub(a[(i+2)%len(a)], v)) > 0 {
			out = r2.Scale(-1, out)
		}
		apart := true
		for _, w := range b {
			if r2.Dot(out, r2.Sub(w, v)) < -hairsbreadth {
				apart = false
				break
			}
		}
		if apart {
			return true
		}
	}
	return false
}
