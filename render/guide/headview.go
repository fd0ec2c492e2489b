package guide

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// A headView draws a head from above as the technician sees it, the far side
// at the top of the page: from behind with the nose at the top and the wearer's
// left on the left, from the front turned by half a circle. The distance from
// the vertex is the angle at the head's centre; the edge runs through the four
// landmarks and has the head's proportions.
type headView struct {
	center      r2.Vec
	right, long float64 // half-axes of the edge on the page, mm
	side, front float64 // the landmarks' angles from the vertex
	turned      bool
	marks       map[string]r3.Vec
}

func siteName(s string) layout.Name { return layout.Name(s) }

// newHeadView makes a view of which the longer half-axis has a length in mm.
func newHeadView(p *plan, center r2.Vec, half float64, stand Stand) headView {
	l := p.surface.Landmarks()
	v := headView{center: center, turned: stand == Front, marks: map[string]r3.Vec{
		"Nz": l.Nasion, "Iz": l.Inion, "LPA": l.LeftPreauricular, "RPA": l.RightPreauricular,
	}}
	v.side = (colatitude(l.LeftPreauricular) + colatitude(l.RightPreauricular)) / 2
	v.front = (colatitude(l.Nasion) + colatitude(l.Inion)) / 2
	breadth := r3.Norm(r3.Sub(l.RightPreauricular, l.LeftPreauricular))
	length := r3.Norm(r3.Sub(l.Nasion, l.Inion))
	v.right, v.long = half*breadth/length, half
	if breadth > length {
		v.right, v.long = half, half*length/breadth
	}
	return v
}

func colatitude(v r3.Vec) float64 { return math.Acos(r3.Unit(v).Z) }

// point is where a direction from the head's centre lies on the page.
func (v headView) point(d r3.Vec) r2.Vec {
	flat := math.Hypot(d.X, d.Y)
	if flat < 1e-9 {
		return v.center
	}
	c, s := d.X/flat, d.Y/flat
	edge := v.side*c*c + v.front*s*s
	r := colatitude(d) / edge
	return v.polar(r, c, s)
}

// polar takes a distance from the vertex in units of the edge's, to the
// wearer's right and to the front.
func (v headView) polar(r, right, front float64) r2.Vec {
	if v.turned {
		right, front = -right, -front
	}
	return r2.Vec{X: v.center.X + r*right*v.right, Y: v.center.Y - r*front*v.long}
}

func (v headView) mark(m *mark) r2.Vec         { return v.point(m.Position) }
func (v headView) landmark(name string) r2.Vec { return v.point(v.marks[name]) }

// outline draws edge, nose and ears.
func (v headView) outline(p *page) {
	var edge []r2.Vec
	const noseHalf, noseHigh = 14 * math.Pi / 180, .13
	for a := noseHalf; a <= 2*math.Pi-noseHalf+1e-9; a += (2*math.Pi - 2*noseHalf) / 180 {
		edge = append(edge, v.polar(1, math.Sin(a), math.Cos(a)))
	}
	// The nose is a cosine hump on the edge.
	for i := 1; i < 40; i++ {
		t := float64(i)/20 - 1
		r := 1 + noseHigh*math.Pow(math.Cos(t*math.Pi/2), 1.5)
		edge = append(edge, v.polar(r, math.Sin(t*noseHalf), math.Cos(t*noseHalf)))
	}
	p.outline(firm, edge...)
	for _, side := range []float64{-1, 1} {
		var ear []r2.Vec
		for i := range 41 {
			t := float64(i)/20 - 1
			a := t*13*math.Pi/180 + 4*math.Pi/180
			r := 1 + .06*math.Sqrt(math.Cos(t*math.Pi/2))
			ear = append(ear, v.polar(r, side*math.Cos(a), -math.Sin(a)))
		}
		p.stroke(firm, ear...)
	}
}

// graticule draws midline, ear-to-ear arc and ring as hairlines.
func (v headView) graticule(p *page) {
	p.dashed(hair, v.polar(1, 0, 1), v.polar(1, 0, -1))
	p.dashed(hair, v.polar(1, 1, 0), v.polar(1, -1, 0))
	var ring []r2.Vec
	for i := range 121 {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 120)
		ring = append(ring, v.point(r3.Vec{X: s, Y: c}))
	}
	p.add(shape{path: p.path(ring, true), width: hair, dash: dashes})
}
