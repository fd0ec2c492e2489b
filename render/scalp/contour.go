package scalp

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// A Line is one contour line on the unit disc. An open line begins and ends
// on the edge of the disc.
type Line struct {
	Points []r2.Vec
	Closed bool
	// upperLeft says that the higher values lie on the left of the way
	// along it.
	upperLeft bool
}

// A lattice holds values at the nodes of a square grid, row by row from the
// lower left. Node (column, row) lies at (origin + column·step, origin +
// row·step). In each row of cells, those between the nodes of its span are part
// of the lattice.
type lattice struct {
	side         int
	origin, step float64
	values       []float64
	spans        [][2]int
}

func (l *lattice) point(node int) r2.Vec {
	return r2.Vec{
		X: l.origin + float64(node%l.side)*l.step,
		Y: l.origin + float64(node/l.side)*l.step,
	}
}

// An edge joins a node to its right neighbour (even: 2·node) or to its upper
// neighbour (odd: 2·node + 1).
type edge int32

func (l *lattice) ends(e edge) (from, to int) {
	from = int(e / 2)
	if e%2 == 0 {
		return from, from + 1
	}
	return from, from + l.side
}

// A segment is the piece of a contour inside one cell, from edge to edge. The
// higher values lie on its right, or where upperLeft holds on its left.
type segment struct {
	edges     [2]edge
	upperLeft bool
}

// A tracer follows contours through a lattice. Its memory is reused from
// level to level.
type tracer struct {
	lattice *lattice
	// value is the field between the nodes; a vertex on an edge is moved to
	// where it equals the level, and it decides which corners of a saddle
	// are connected.
	value func(r2.Vec) float64
	// tolerance is how far the field may be from the level at a vertex.
	tolerance float64

	segments []segment
	// touching gives for every edge the segments that end there, as index +
	// 1.
	touching [][2]int32
}

func newTracer(l *lattice, value func(r2.Vec) float64, tolerance float64) *tracer {
	return &tracer{
		lattice: l, value: value, tolerance: tolerance,
		touching: make([][2]int32, 2*len(l.values)),
	}
}

// trace returns the lines along which the field equals level: marching squares
// whose segments are joined end to end. A node at the level, to within the
// tolerance, counts as above, everywhere, so that neighbouring cells agree and
// rounding draws nothing on a plateau. Lines are open only where they
// leave the lattice, and their order depends on nothing but the values.
func (t *tracer) trace(level float64) []Line {
	t.segments = t.segments[:0]
	for row, span := range t.lattice.spans {
		t.cutRow(row, span, level)
	}
	for i, s := range t.segments {
		for _, e := range s.edges {
			slot := &t.touching[e]
			if slot[0] == 0 {
				slot[0] = int32(i + 1)
			} else {
				slot[1] = int32(i + 1)
			}
		}
	}
	lines := t.join(level)
	for _, s := range t.segments {
		t.touching[s.edges[0]], t.touching[s.edges[1]] = [2]int32{}, [2]int32{}
	}
	return lines
}

// cutRow adds the segments of one row of cells. It carries the two corners that
// neighbouring cells share from one to the next.
func (t *tracer) cutRow(row int, span [2]int, level float64) {
	l, above := t.lattice, level-t.tolerance
	low := l.values[row*l.side:][:l.side]
	high := l.values[(row+1)*l.side:][:l.side]
	var left, right uint8
	for column := span[0]; column <= span[1]; column++ {
		right = 0
		if low[column] >= above {
			right = 2
		}
		if high[column] >= above {
			right |= 4
		}
		if corners := left | right; column > span[0] && corners != 0 && corners != 15 {
			t.cut(row*l.side+column-1, corners, level)
		}
		left = right&2>>1 | right&4<<1
	}
}

// cut adds the segments of one cell, named by its lower left node, of whose
// corners some are above the level.
func (t *tracer) cut(node int, corners uint8, level float64) {
	l := t.lattice
	a, b, c, d := node, node+1, node+l.side+1, node+l.side                   // counter-clockwise
	edges := [4]edge{edge(2 * a), edge(2*b + 1), edge(2 * d), edge(2*a + 1)} // bottom, right, top, left
	pieces := crossings[corners]
	lower := len(pieces) == 2 && t.value(r2.Scale(.5, r2.Add(l.point(a), l.point(c)))) >= level-t.tolerance
	if lower {
		// The middle belongs to the upper corners: cut off the lower
		// ones.
		pieces = crossings[15-corners]
	}
	for _, p := range pieces {
		t.segments = append(t.segments, segment{[2]edge{edges[p[0]], edges[p[1]]}, lower})
	}
}

// crossings lists for every set of upper corners (bits: lower left, lower
// right, upper right, upper left) the pairs of edges (0 bottom, 1 right, 2 top,
// 3 left) that the contour joins, the upper corners on its right. The two
// saddles have their upper corners cut off, which is right when the middle of
// the cell is below the level.
var crossings = [16][][2]uint8{
	1: {{3, 0}}, 2: {{0, 1}}, 3: {{3, 1}}, 4: {{1, 2}},
	5: {{3, 0}, {1, 2}}, 6: {{0, 2}}, 7: {{3, 2}}, 8: {{2, 3}},
	9: {{2, 0}}, 10: {{0, 1}, {2, 3}}, 11: {{2, 1}}, 12: {{1, 3}},
	13: {{1, 0}}, 14: {{0, 3}},
}

// join walks from segment to segment. Open lines come first, each from one of
// its two ends; what is left after them is closed.
func (t *tracer) join(level float64) []Line {
	used := make([]bool, len(t.segments))
	var lines []Line
	for i, s := range t.segments {
		for _, e := range s.edges {
			if !used[i] && t.touching[e][1] == 0 {
				lines = append(lines, t.walk(i, e, level, used))
			}
		}
	}
	for i, s := range t.segments {
		if !used[i] {
			line := t.walk(i, s.edges[0], level, used)
			line.Points = line.Points[:len(line.Points)-1] // the first again
			line.Closed = true
			lines = append(lines, line)
		}
	}
	return lines
}

// walk follows the line that enters segment i at edge from.
func (t *tracer) walk(i int, from edge, level float64, used []bool) Line {
	first := t.segments[i]
	line := Line{Points: []r2.Vec{t.vertex(from, level)}, upperLeft: first.upperLeft == (from == first.edges[0])}
	for {
		used[i] = true
		s := t.segments[i].edges
		to := s[0]
		if to == from {
			to = s[1]
		}
		line.Points = append(line.Points, t.vertex(to, level))
		pair := t.touching[to]
		next := int(pair[0]) - 1
		if next == i {
			next = int(pair[1]) - 1
		}
		if next < 0 || used[next] {
			return line
		}
		i, from = next, to
	}
}

// vertex finds where the field equals the level on an edge whose ends lie on
// either side of it, or one of them at it: false position with the Illinois
// rule, which cannot leave the edge.
func (t *tracer) vertex(e edge, level float64) r2.Vec {
	from, to := t.lattice.ends(e)
	p, q := t.lattice.point(from), t.lattice.point(to)
	fp, fq := t.lattice.values[from]-level, t.lattice.values[to]-level
	switch {
	case math.Abs(fp) <= t.tolerance:
		return p
	case math.Abs(fq) <= t.tolerance:
		return q
	}
	lo, hi, flo, fhi := 0., 1., fp, fq
	at := func(f float64) r2.Vec {
		return r2.Vec{X: p.X + f*(q.X-p.X), Y: p.Y + f*(q.Y-p.Y)}
	}
	var fraction float64
	moved := 0 // which end moved last: -1 the lower, 1 the upper
	for range 40 {
		fraction = lo + (hi-lo)*flo/(flo-fhi)
		f := t.value(at(fraction)) - level
		if math.Abs(f) <= t.tolerance {
			break
		}
		if f >= 0 == (flo >= 0) {
			lo, flo = fraction, f
			if moved < 0 {
				fhi /= 2
			}
			moved = -1
		} else {
			hi, fhi = fraction, f
			if moved > 0 {
				flo /= 2
			}
			moved = 1
		}
	}
	return at(fraction)
}

// clip keeps the parts of the lines where inside is not negative, with ends on
// the border where it is zero.
func clip(lines []Line, inside func(r2.Vec) float64) []Line {
	var kept []Line
	for _, line := range lines {
		kept = append(kept, line.clipped(inside)...)
	}
	return kept
}

// inDisc is not negative inside the unit circle.
func inDisc(p r2.Vec) float64 { return 1 - r2.Norm2(p) }

func (l Line) clipped(inside func(r2.Vec) float64) []Line {
	outside := slices.IndexFunc(l.Points, func(p r2.Vec) bool { return inside(p) < 0 })
	if outside < 0 {
		return []Line{l}
	}
	points := l.Points
	if l.Closed { // begin outside, and come back there
		points = append(append(append([]r2.Vec{}, points[outside:]...), points[:outside]...), points[outside])
	}
	var parts []Line
	var part []r2.Vec
	finish := func() {
		if len(part) > 1 {
			parts = append(parts, Line{Points: part, upperLeft: l.upperLeft})
		}
		part = nil
	}
	before := false
	for i, p := range points {
		in := inside(p) >= 0
		if i > 0 && in != before {
			part = append(part, onBorder(points[i-1], p, inside))
		}
		if in {
			part = append(part, p)
		} else {
			finish()
		}
		before = in
	}
	finish()
	return parts
}

// onBorder is where the segment from p to q, one inside and one outside,
// crosses the border, by halving it until nothing is left to halve.
func onBorder(p, q r2.Vec, inside func(r2.Vec) float64) r2.Vec {
	in, out := p, q
	if inside(p) < 0 {
		in, out = q, p
	}
	for range 52 {
		mid := r2.Scale(.5, r2.Add(in, out))
		if inside(mid) >= 0 {
			in = mid
		} else {
			out = mid
		}
	}
	return in
}
