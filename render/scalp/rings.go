package scalp

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// A territory is the part of a chart that a map shows.
type territory struct {
	// inside is not negative on it, zero at its border.
	inside func(r2.Vec) float64
	// middle is a place on it that sees all of its border.
	middle r2.Vec
	// border is its border counter-clockwise, as seen from the middle in
	// even steps from the right.
	border []r2.Vec
}

// borderPoints is a point every half degree.
const borderPoints = 720

// territory is the whole map, or the half of it on the right of the page.
func (p Projection) territory(rightHalf bool) territory {
	t := territory{inside: p.within(rightHalf)}
	if rightHalf {
		t.middle = r2.Vec{X: .3}
	}
	for k := range borderPoints {
		t.border = append(t.border, t.borderAt(2*math.Pi*float64(k)/borderPoints))
	}
	return t
}

// within is not negative on the whole map, or on its right half.
func (p Projection) within(rightHalf bool) func(at r2.Vec) float64 {
	if rightHalf {
		return func(at r2.Vec) float64 { return min(p.inside(at), at.X) }
	}
	return p.inside
}

// borderAt is the place on the border in a direction from the middle.
func (t territory) borderAt(angle float64) r2.Vec {
	sin, cos := math.Sincos(angle)
	return onBorder(t.middle, r2.Add(t.middle, r2.Vec{X: 3 * cos, Y: 3 * sin}), t.inside)
}

// angle is the direction of a place from the middle.
func (t territory) angle(p r2.Vec) float64 {
	d := r2.Sub(p, t.middle)
	return math.Atan2(d.Y, d.X)
}

// along is the border counter-clockwise from a direction on, over an angle,
// without the ends.
func (t territory) along(from, over float64) []r2.Vec {
	const step = 2 * math.Pi / borderPoints
	var points []r2.Vec
	for k := int(math.Floor(from/step)) + 1; float64(k)*step < from+over; k++ {
		points = append(points, t.border[(k+2*borderPoints)%borderPoints])
	}
	return points
}

// rings are the borders of the part of the territory where a field reaches a
// level or, with upper unset, where it does not, made of the level's contours.
// That part lies on the left of each ring: islands are counter-clockwise, lakes
// on them clockwise.
//
// Where contours and border agree to rounding, the field cannot tell what lies
// between them. So it is asked, by reaches, only where no contour says on which
// of its sides the border is.
func (t territory) rings(contours []Line, upper bool, reaches func(r2.Vec) bool) []Line {
	var closed, open []Line
	for _, l := range clip(contours, t.inside) {
		if l.upperLeft != upper {
			l.Points = slices.Clone(l.Points)
			slices.Reverse(l.Points)
		}
		switch {
		case !l.Closed:
			open = append(open, l)
		case math.Abs(l.area()) > speck:
			closed = append(closed, l)
		}
	}
	within := func(p r2.Vec) bool { return reaches(p) == upper }
	switch {
	case len(open) > 0:
		return append(t.joined(open, within), closed...)
	case len(closed) > 0 && outermost(closed).area() < 0, len(closed) == 0 && within(t.border[0]):
		return append([]Line{{Points: t.border, Closed: true}}, closed...)
	}
	return closed
}

// speck is an area too small to see, and to have a left and a right.
const speck = 1e-9

// outermost is a ring that no other surrounds.
func outermost(rings []Line) Line {
	rightmost := func(l Line) float64 {
		return slices.MaxFunc(l.Points, func(p, q r2.Vec) int { return cmp.Compare(p.X, q.X) }).X
	}
	return slices.MaxFunc(rings, func(a, b Line) int { return cmp.Compare(rightmost(a), rightmost(b)) })
}

// area inside a closed line, negative where it runs clockwise.
func (l Line) area() float64 {
	sum := 0.
	for i, p := range l.Points {
		sum += r2.Cross(p, l.Points[(i+1)%len(l.Points)]) / 2
	}
	return sum
}

// joined closes lines from border to border along it: where one has come to its
// end, what is on its left goes on to where the next begins.
func (t territory) joined(open []Line, within func(r2.Vec) bool) []Line {
	next := t.successors(open, within)
	var rings []Line
	done := make([]bool, len(open))
	for first := range open {
		if done[first] {
			continue
		}
		ring := Line{Closed: true}
		for i := first; !done[i]; i = next[i].line {
			done[i] = true
			points := open[i].Points
			ring.Points = append(ring.Points, points...)
			ring.Points = append(ring.Points, t.along(t.angle(points[len(points)-1]), next[i].over)...)
		}
		rings = append(rings, ring)
	}
	return rings
}

// A meeting is where a line begins or ends at the border.
type meeting struct {
	line   int
	begins bool
	angle  float64
}

// A successor is the line that begins next after another's end, and how far it
// is along the border.
type successor struct {
	line int
	over float64
}

// successors finds what follows each line. Ends and beginnings alternate along
// the border but for those that rounding has exchanged: a beginning that comes
// too early follows the end after it at once.
func (t territory) successors(open []Line, within func(r2.Vec) bool) []successor {
	meetings, inside := t.meetings(open, within)
	const before = -1 // an end before all meetings
	var waiting, early []meeting
	if inside {
		waiting = append(waiting, meeting{line: before})
	}
	var last successor
	next := make([]successor, len(open))
	for _, m := range meetings {
		switch {
		case m.begins && len(waiting) == 0:
			early = append(early, m)
		case m.begins && waiting[0].line == before:
			last, waiting = successor{m.line, m.angle + 2*math.Pi}, waiting[1:]
		case m.begins:
			next[waiting[0].line], waiting = successor{m.line, m.angle - waiting[0].angle}, waiting[1:]
		case len(early) > 0:
			next[m.line], early = successor{line: early[0].line}, early[1:]
		default:
			waiting = append(waiting, m)
		}
	}
	for _, m := range waiting {
		next[m.line] = successor{last.line, last.over - m.angle}
	}
	return next
}

// meetings lists where lines meet the border, counter-clockwise once around,
// and tells whether the border before the first is inside the rings. It is
// outside if it is anywhere.
func (t territory) meetings(open []Line, within func(r2.Vec) bool) (list []meeting, inside bool) {
	for i, l := range open {
		list = append(list,
			meeting{i, false, t.angle(l.Points[len(l.Points)-1])},
			meeting{i, true, t.angle(l.Points[0])})
	}
	slices.SortFunc(list, func(a, b meeting) int { return cmp.Compare(a.angle, b.angle) })
	const rounding = 1e-9
	var depth, lowest, deepest, first int
	widest := 0.
	for k, m := range list {
		gap := m.angle - list[(k+len(list)-1)%len(list)].angle
		if k == 0 {
			gap += 2 * math.Pi
		}
		if gap > rounding {
			if widest == 0 {
				lowest, deepest = depth, depth
			}
			if depth < lowest || depth == lowest && gap > widest {
				lowest, first, widest = depth, k, gap
			}
			deepest = max(deepest, depth)
		}
		if m.begins {
			depth--
		} else {
			depth++
		}
	}
	// Where the border is the same all around, but for places that lines
	// touch, the field knows what it is.
	inside = lowest == deepest && within(t.borderAt(list[first].angle-widest/2))
	for _, m := range list[:first] {
		m.angle += 2 * math.Pi
		list = append(list, m)
	}
	return list[first:], inside
}
