package canvas

import (
	"math"

	"gonum.org/v1/plot/vg"
)

type verb uint8

const (
	move verb = iota
	line
	cube
	shut
)

// A step of an outline ends in to; a cubic curve has two control points.
type step struct {
	verb   verb
	c1, c2 point
	to     point
}

// An outline is a path in a device's coordinates, made of lines and cubic
// curves only, in which each part starts with a move.
type outline []step

// trace carries a path through m. Arcs join the current point by a line, as
// vg has it. It reports false when a coordinate is not finite.
func trace(path vg.Path, m affine) (outline, bool) {
	o := make(outline, 0, len(path))
	for _, c := range path {
		switch c.Type {
		case vg.MoveComp:
			o = append(o, step{verb: move, to: m.vg(c.Pos)})
		case vg.LineComp:
			o = o.lineTo(m.vg(c.Pos))
		case vg.ArcComp:
			o = o.arc(c, m)
		case vg.CurveComp:
			o = o.curve(c, m)
		case vg.CloseComp:
			if len(o) > 0 {
				o = append(o, step{verb: shut})
			}
		}
	}
	for _, s := range o {
		if !s.c1.finite() || !s.c2.finite() || !s.to.finite() {
			return nil, false
		}
	}
	return o, true
}

func (o outline) lineTo(p point) outline {
	if len(o) == 0 {
		return append(o, step{verb: move, to: p})
	}
	return append(o, step{verb: line, to: p})
}

func (o outline) curve(c vg.PathComp, m affine) outline {
	to := m.vg(c.Pos)
	if len(o) == 0 || len(c.Control) == 0 {
		return o.lineTo(to)
	}
	c1, c2 := m.vg(c.Control[0]), m.vg(c.Control[len(c.Control)-1])
	if len(c.Control) == 1 {
		c1, c2 = raised(o.current(), c1, to)
	}
	return append(o, step{verb: cube, c1: c1, c2: c2, to: to})
}

// raised returns the control points of the cubic curve that equals the
// quadratic one from a to b with control point q.
func raised(a, q, b point) (c1, c2 point) {
	return point{a.x + 2*(q.x-a.x)/3, a.y + 2*(q.y-a.y)/3},
		point{b.x + 2*(q.x-b.x)/3, b.y + 2*(q.y-b.y)/3}
}

// arc adds an arc in pieces of at most a quarter turn, each a cubic curve that
// departs from the circle by less than 0.03 % of the radius.
func (o outline) arc(c vg.PathComp, m affine) outline {
	r, cx, cy := float64(c.Radius), float64(c.Pos.X), float64(c.Pos.Y)
	if math.IsNaN(c.Angle - c.Angle) {
		return o.lineTo(point{math.NaN(), math.NaN()})
	}
	turn := math.Max(-2*math.Pi, math.Min(2*math.Pi, c.Angle))
	n := max(1, int(math.Ceil(math.Abs(turn)/(math.Pi/2)-1e-9)))
	piece := turn / float64(n)
	k := 4.0 / 3 * math.Tan(piece/4) * r
	sin, cos := math.Sincos(c.Start)
	o = o.lineTo(m.at(point{cx + r*cos, cy + r*sin}))
	for i := range n {
		s, t := math.Sincos(c.Start + float64(i+1)*piece)
		o = append(o, step{
			verb: cube,
			c1:   m.at(point{cx + r*cos - k*sin, cy + r*sin + k*cos}),
			c2:   m.at(point{cx + r*t + k*s, cy + r*s - k*t}),
			to:   m.at(point{cx + r*t, cy + r*s}),
		})
		sin, cos = s, t
	}
	return o
}

// current is the point at which the outline's last part stands.
func (o outline) current() point {
	last := len(o) - 1
	if o[last].verb != shut {
		return o[last].to
	}
	for last > 0 && o[last].verb != move {
		last--
	}
	return o[last].to
}

// A polyline is one part of an outline as straight pieces. A closed one does
// not repeat its first point.
type polyline struct {
	points []point
	closed bool
}

// polylines replaces each curve by chords that stay within tolerance of it.
func (o outline) polylines(tolerance float64) []polyline {
	var parts []polyline
	var at *polyline
	begin := func(p point) {
		parts = append(parts, polyline{points: []point{p}})
		at = &parts[len(parts)-1]
	}
	for _, s := range o {
		if at != nil && at.closed && s.verb != move && s.verb != shut {
			begin(at.points[0])
		}
		switch s.verb {
		case move:
			begin(s.to)
		case line:
			at.points = append(at.points, s.to)
		case cube:
			at.points = chords(at.points, s, tolerance)
		case shut:
			at.closed = true
		}
	}
	return parts
}

// chords appends a cubic curve's chords. Their number follows from the bound
// that a chord over 1/n of the parameter departs by at most 3/4·d/n², d being
// the larger second difference of the control points.
func chords(points []point, s step, tolerance float64) []point {
	a := points[len(points)-1]
	d := math.Max(
		math.Hypot(a.x-2*s.c1.x+s.c2.x, a.y-2*s.c1.y+s.c2.y),
		math.Hypot(s.c1.x-2*s.c2.x+s.to.x, s.c1.y-2*s.c2.y+s.to.y))
	n := int(math.Min(1000, math.Ceil(math.Sqrt(0.75*d/tolerance))))
	for i := 1; i < n; i++ {
		t := float64(i) / float64(n)
		u := 1 - t
		w0, w1, w2, w3 := u*u*u, 3*u*u*t, 3*u*t*t, t*t*t
		points = append(points, point{
			w0*a.x + w1*s.c1.x + w2*s.c2.x + w3*s.to.x,
			w0*a.y + w1*s.c1.y + w2*s.c2.y + w3*s.to.y,
		})
	}
	return append(points, s.to)
}

// bounds returns the smallest box around the outline, its curves taken as
// chords within a hundredth of a unit.
func (o outline) bounds() box {
	b := emptyBox
	for _, part := range o.polylines(0.01) {
		for _, p := range part.points {
			b = b.with(p)
		}
	}
	return b
}
