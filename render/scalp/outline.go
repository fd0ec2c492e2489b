package scalp

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"

	"calotte/render/paper"
)

// The nose rises from the edge noseHalf on either side of the nasion, to
// noseHeight above it, both for a map whose edge is the unit circle.
const (
	noseHalf   = 15 * math.Pi / 180
	NoseHeight = .115
)

// arcPieces is how many Bézier curves draw the edge of the map. Twelve keep
// it within 1e-6 of the true ellipse.
const arcPieces = 12

// A Frame places a view on the page: the middle and the half-axes of the map's
// edge, or in side views of the head's outline.
type Frame struct {
	Center       vg.Point
	Right, Front vg.Length
	View         Projection
}

// Project is where a direction from the head's centre lies on the page.
func (f Frame) Project(direction r3.Vec) vg.Point { return f.point(f.View.chartOf(direction)) }

// point is where a point of the view's chart lies on the page.
func (f Frame) point(p r2.Vec) vg.Point { return f.place(f.View.unrolled(p)) }

// place is where a point in units of the half-axes lies on the page.
func (f Frame) place(p r2.Vec) vg.Point {
	return vg.Point{
		X: f.Center.X + vg.Length(p.X)*f.Right,
		Y: f.Center.Y + vg.Length(p.Y)*f.Front,
	}
}

// Outline is the head as one closed curve: from above the map's edge, whose
// front flows into a rounded nose.
func (f Frame) Outline() vg.Path {
	if f.View.View != Top {
		return f.edge()
	}
	start, end := r2.Vec{X: math.Sin(noseHalf), Y: math.Cos(noseHalf)}, r2.Vec{X: -math.Sin(noseHalf),
		Y: math.Cos(noseHalf)}
	tip := r2.Vec{Y: 1 + NoseHeight}
	var p vg.Path
	p.Move(f.point(start))
	f.appendArc(&p, noseHalf, 2*math.Pi-noseHalf)
	// Up along the edge's own tangent, over the tip level, and down again.
	const along, across = .16, .115
	tangent := r2.Vec{X: math.Cos(noseHalf), Y: math.Sin(noseHalf)}
	p.CubeTo(f.point(r2.Add(end, r2.Scale(along, tangent))), f.point(r2.Vec{X: -across, Y: tip.Y}), f.point(tip))
	tangent.Y = -tangent.Y
	p.CubeTo(f.point(r2.Vec{X: across, Y: tip.Y}), f.point(r2.Sub(start, r2.Scale(along, tangent))), f.point(start))
	p.Close()
	return p
}

// appendArc draws the edge from one azimuth to another, clockwise from the
// front. The path must stand at the first.
func (f Frame) appendArc(p *vg.Path, from, to float64) {
	turn := (to - from) / arcPieces
	pull := 4. / 3 * math.Tan(turn/4)
	for i := range arcPieces {
		s0, c0 := math.Sincos(from + turn*float64(i))
		s1, c1 := math.Sincos(from + turn*float64(i+1))
		p.CubeTo(
			f.place(r2.Vec{X: s0 + pull*c0, Y: c0 - pull*s0}),
			f.place(r2.Vec{X: s1 - pull*c1, Y: c1 + pull*s1}),
			f.place(r2.Vec{X: s1, Y: c1}),
		)
	}
}

// Graticule is the skeleton of the 10-20 system: midline and coronal line from
// edge to edge, the ring, and the edge itself where the nose leaves it.
func (f Frame) Graticule() vg.Path {
	if f.View.View != Top {
		return f.sideGraticule()
	}
	ring, of := f, spacings[f.View.Spacing].radius
	ring.Right *= vg.Length(of(math.Pi/2) / of(f.View.EdgeSide))
	ring.Front *= vg.Length(of(math.Pi/2) / of(f.View.EdgeFront))
	var p vg.Path
	p.Move(ring.point(r2.Vec{Y: 1}))
	ring.appendArc(&p, 0, 2*math.Pi)
	p.Close()
	p.Move(f.point(r2.Vec{X: -math.Sin(noseHalf), Y: math.Cos(noseHalf)}))
	f.appendArc(&p, -noseHalf, noseHalf)
	p.Move(f.point(r2.Vec{Y: -1}))
	p.Line(f.point(r2.Vec{Y: 1}))
	p.Move(f.point(r2.Vec{X: -1}))
	p.Line(f.point(r2.Vec{X: 1}))
	return p
}

// A landmark is one of the four points that head measures start from, with the
// way outward on the page.
type landmark struct {
	name    string
	outward r2.Vec
}

// landmarks that each view shows.
var landmarks = [...][]landmark{
	Top:   {{"Nz", r2.Vec{Y: 1}}, {"RPA", r2.Vec{X: 1}}, {"Iz", r2.Vec{Y: -1}}, {"LPA", r2.Vec{X: -1}}},
	Left:  {{"Nz", r2.Vec{X: -1}}, {"LPA", r2.Vec{Y: -1}}, {"Iz", r2.Vec{X: 1}}},
	Right: {{"Nz", r2.Vec{X: 1}}, {"RPA", r2.Vec{Y: -1}}, {"Iz", r2.Vec{X: -1}}},
	Front: {{"RPA", r2.Vec{X: -1}}, {"Nz", r2.Vec{Y: -1}}, {"LPA", r2.Vec{X: 1}}},
	Back:  {{"LPA", r2.Vec{X: -1}}, {"Iz", r2.Vec{Y: -1}}, {"RPA", r2.Vec{X: 1}}},
}

// at is where a landmark lies on the page.
func (f Frame) at(l landmark) vg.Point {
	if f.View.View == Top {
		return f.place(l.outward)
	}
	height := f.View.lowestRim()
	if l.outward.X == 0 {
		height = f.View.ringBelow(0)
	}
	return f.place(r2.Vec{X: l.outward.X * math.Sqrt(1-height*height), Y: height})
}

// LandmarkTicks are short strokes from the edge outward, and at the nasion into
// the nose.
func (f Frame) LandmarkTicks(length vg.Length) vg.Path {
	var p vg.Path
	for _, l := range landmarks[f.View.View] {
		at := f.at(l)
		p.Move(at)
		p.Line(at.Add(vg.Point{X: vg.Length(l.outward.X) * length, Y: vg.Length(l.outward.Y) * length}))
	}
	return p
}

// above and below are how far the map with its outline reaches from its middle.
func (f Frame) above() vg.Length {
	if f.View.View == Top {
		return f.Front * (1 + NoseHeight)
	}
	return f.Front
}

func (f Frame) below() vg.Length {
	if f.View.View == Top {
		return f.Front + paper.TickLength
	}
	return f.Front * chin
}
