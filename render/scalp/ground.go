package scalp

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/render/paper"
)

// A Ground is a map without its field: what stands still while latencies
// change. Its lengths are in points about the middle of the map, y up.
type Ground struct {
	// Edge is the border of the field; Outline is the head's, with the
	// nose.
	Edge, Outline vg.Path
	// Graticule and Face tell where on the head one is, and which way it
	// looks.
	Graticule, Face vg.Path
	// Ticks mark the landmarks.
	Ticks vg.Path
	// Hatch covers what is guessed, and Paper what is not known at all.
	Hatch, Paper vg.Path
	// Landmarks are the names at the ticks.
	Landmarks []GroundName
	// Places are those of the marks; Visible says which are on the side
	// that is seen.
	Places  []vg.Point
	Visible []bool
	// MarkRadius is the size of an electrode's mark.
	MarkRadius vg.Length
}

// A GroundName is a landmark's name, at the outer end of its tick.
type GroundName struct {
	Name    string
	At      vg.Point
	Outward r2.Vec // which way the head ends there: one of its coordinates is ±1
}

// Ground draws what stands still on a map of the given half-width in points, of
// a row with these sites and the marks that belong to them.
func (p Projection) Ground(half vg.Length, sites []layout.Site, marks []Mark, k *Knowledge) (Ground, error) {
	f := Frame{Right: vg.Length(p.Right) * half, Front: vg.Length(p.Front) * half, View: p}
	g := Ground{
		Edge: f.fieldEdge(), Outline: f.Outline(), Graticule: f.Graticule(), Face: f.face(true),
		Ticks: f.LandmarkTicks(paper.TickLength), MarkRadius: f.markRadius(markSpacing(marks)),
	}
	r, err := NewReach(newGrid(p, fewCells), sites, k)
	if err != nil {
		return g, err
	}
	g.Hatch, g.Paper = r.Hatch(f), r.Paper(f, false)
	for _, l := range landmarks[p.View] {
		out := vg.Point{X: vg.Length(l.outward.X) * paper.TickLength,
			Y: vg.Length(l.outward.Y) * paper.TickLength}
		at := f.at(l).Add(out)
		if p.View == Top && l.outward.Y > 0 {
			at.Y = f.above() // over the nose
		}
		g.Landmarks = append(g.Landmarks, GroundName{l.name, at, l.outward})
	}
	for _, m := range marks {
		g.Places = append(g.Places, f.Project(m.Site.Position))
		g.Visible = append(g.Visible, p.Visible(m.Site.Position))
	}
	return g, nil
}

// fieldEdge is the border of the field, without the nose.
func (f Frame) fieldEdge() vg.Path {
	if f.View.View != Top {
		return f.edge()
	}
	var p vg.Path
	p.Move(f.place(r2.Vec{Y: 1}))
	f.appendArc(&p, 0, 2*math.Pi)
	p.Close()
	return p
}

// Shows reports whether a place on the page, in the projection's units, lies on
// the map.
func (p Projection) Shows(at r2.Vec) bool {
	q := r2.Vec{X: at.X / p.Right, Y: at.Y / p.Front}
	return r2.Norm2(q) <= 1 && p.inside(p.rolled(q)) >= 0
}
