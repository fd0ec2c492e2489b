package scalp

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"
)

// chin is how far below the middle, in half-axes, the outline of a side view
// runs on.
const chin = .78

// ringBelow is the height, in half-axes, at which the edge ring crosses a side
// view at a distance across the page from the middle.
func (p Projection) ringBelow(across float64) float64 {
	lo, hi := -math.Sqrt(max(0, 1-across*across)), 0.
	for range 50 {
		mid := (lo + hi) / 2
		if p.inside(p.rolled(r2.Vec{X: across, Y: mid})) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// edge is the border of a side view's map: over the top along the rim, and back
// below along the ring through nasion, preauricular points and inion.
func (f Frame) edge() vg.Path {
	const pieces = 48
	low := f.View.lowestRim()
	start := math.Atan2(math.Sqrt(1-low*low), low) // from straight up to the right
	var p vg.Path
	p.Move(f.rim(start))
	f.appendArc(&p, start, -start)
	across := math.Sqrt(1 - low*low)
	for i := 1; i < pieces; i++ {
		x := across * (2*float64(i)/pieces - 1)
		p.Line(f.place(r2.Vec{X: x, Y: f.View.ringBelow(x)}))
	}
	p.Close()
	return p
}

// rim is a point of the head's outline, by its angle from straight up to the
// right.
func (f Frame) rim(angle float64) vg.Point {
	sin, cos := math.Sincos(angle)
	return f.place(r2.Vec{X: sin, Y: cos})
}

// sideGraticule is the skeleton of the 10-20 system in a side view: the ring
// Fpz-T7-Oz-T8 and the arc over the vertex that faces the eye.
func (f Frame) sideGraticule() vg.Path {
	var p vg.Path
	p.Move(f.place(r2.Vec{X: -1}))
	p.Line(f.place(r2.Vec{X: 1}))
	p.Move(f.place(r2.Vec{Y: 1}))
	p.Line(f.place(r2.Vec{Y: f.View.ringBelow(0)}))
	return p
}

// A feature of a face is a curve in half-axes: a start, and triples of points
// of Bézier curves after it.
type feature []r2.Vec

// The faces tell which way the head looks. Where the head's sides are alike a
// feature is drawn on both.
var (
	profile = []feature{
		{{X: -.924, Y: -.383}, {X: -.95, Y: -.47}, {X: -1.03, Y: -.53}, {X: -1.045, Y: -.585}, // the nose
			{X: -1.05, Y: -.63}, {X: -.97, Y: -.635}, {X: -.93, Y: -.645},
			{X: -.91, Y: -.66}, {X: -.93, Y: -.71}, {X: -.92, Y: -chin}},
		{{X: .924, Y: -.383}, {X: .88, Y: -.50}, {X: .74, Y: -.56}, {X: .72, Y: -chin}}, // the neck
	}
	cheek   = feature{{X: .924, Y: -.383}, {X: .90, Y: -.50}, {X: .80, Y: -.62}, {X: .72, Y: -chin}}
	earEdge = feature{{X: .945, Y: -.33}, {X: 1.03, Y: -.24}, {X: 1.05, Y: -.36}, {X: 1.0, Y: -.48},
		{X: .97, Y: -.55}, {X: .93, Y: -.56}, {X: .90, Y: -.49}}
	earAside = feature{{X: -.055, Y: -.47}, {X: -.01, Y: -.425}, {X: .10, Y: -.43}, {X: .09, Y: -.53},
		{X: .08, Y: -.60}, {X: .02, Y: -.60}, {X: .0, Y: -.66}}
	noseAhead = feature{{X: -.05, Y: -.47}, {X: -.055, Y: -.55}, {X: -.10, Y: -.60}, {X: -.085, Y: -.635},
		{X: -.06, Y: -.68}, {X: .06, Y: -.68}, {X: .085, Y: -.635},
		{X: .10, Y: -.60}, {X: .055, Y: -.55}, {X: .05, Y: -.47}}
)

// face is what the outline of a side view runs on to below the map: enough to
// see which way the head looks. Where letters name the landmarks, they stand in
// place of ears and nose.
func (f Frame) face(letters bool) vg.Path {
	var p vg.Path
	draw := func(s feature, mirror float64) {
		at := func(v r2.Vec) vg.Point { return f.place(r2.Vec{X: mirror * v.X, Y: v.Y}) }
		p.Move(at(s[0]))
		for i := 1; i+2 < len(s); i += 3 {
			p.CubeTo(at(s[i]), at(s[i+1]), at(s[i+2]))
		}
	}
	switch f.View.View {
	case Left, Right:
		mirror := 1.
		if f.View.View == Right {
			mirror = -1
		}
		for _, s := range profile {
			draw(s, mirror)
		}
		if !letters {
			draw(earAside, mirror)
		}
	case Front, Back:
		for _, mirror := range []float64{1, -1} {
			draw(cheek, mirror)
			if !letters {
				draw(earEdge, mirror)
			}
		}
		if f.View.View == Front && !letters {
			draw(noseAhead, 1)
		}
	}
	return p
}
