package canvas

import (
	"math"

	"gonum.org/v1/plot/vg"
)

type point struct{ x, y float64 }

func (p point) finite() bool {
	return !math.IsNaN(p.x-p.x) && !math.IsNaN(p.y-p.y)
}

// An affine maps (x, y) to (a·x + c·y + e, b·x + d·y + f): the order of an SVG
// matrix.
type affine struct{ a, b, c, d, e, f float64 }

var identity = affine{a: 1, d: 1}

func (m affine) at(p point) point {
	return point{m.a*p.x + m.c*p.y + m.e, m.b*p.x + m.d*p.y + m.f}
}

func (m affine) vg(p vg.Point) point {
	return m.at(point{float64(p.X), float64(p.Y)})
}

// after returns the map that applies n first, then m.
func (m affine) after(n affine) affine {
	return affine{
		a: m.a*n.a + m.c*n.b, b: m.b*n.a + m.d*n.b,
		c: m.a*n.c + m.c*n.d, d: m.b*n.c + m.d*n.d,
		e: m.a*n.e + m.c*n.f + m.e, f: m.b*n.e + m.d*n.f + m.f,
	}
}

// scale is the factor by which m changes lengths, the square root of the
// change of areas: under an uneven scale a line has one width everywhere.
func (m affine) scale() float64 {
	return math.Sqrt(math.Abs(m.a*m.d - m.b*m.c))
}

// upright tells whether m keeps horizontals horizontal and verticals vertical.
func (m affine) upright() bool { return m.b == 0 && m.c == 0 }

// similar tells whether m keeps shapes: a turn, an even scale and a shift.
func (m affine) similar() bool {
	tolerance := 1e-9 * m.scale()
	return math.Abs(m.a-m.d) <= tolerance && math.Abs(m.b+m.c) <= tolerance
}

// A box is a rectangle with sides along the axes.
type box struct{ x0, y0, x1, y1 float64 }

var emptyBox = box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}

func (b box) empty() bool { return !(b.x0 <= b.x1 && b.y0 <= b.y1) }

func (b box) with(p point) box {
	return box{min(b.x0, p.x), min(b.y0, p.y), max(b.x1, p.x), max(b.y1, p.y)}
}

func (b box) grown(by float64) box {
	return box{b.x0 - by, b.y0 - by, b.x1 + by, b.y1 + by}
}

func (b box) within(o box) box {
	return box{max(b.x0, o.x0), max(b.y0, o.y0), min(b.x1, o.x1), min(b.y1, o.y1)}
}

// unitSquare is the box around the unit square carried through m.
func unitSquare(m affine) box {
	return emptyBox.with(m.at(point{})).with(m.at(point{1, 0})).with(m.at(point{0, 1})).with(m.at(point{1, 1}))
}
