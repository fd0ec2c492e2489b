package scan

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A plane is the set of points p with normal·p = height; the normal has length
// 1.
type plane struct {
	normal r3.Vec
	height float64
}

// planeThrough returns the plane that the three points run around
// counterclockwise, seen against the normal; ok is false for points in a line.
func planeThrough(a, b, c r3.Vec) (p plane, ok bool) {
	u, v := r3.Sub(b, a), r3.Sub(c, a)
	n := r3.Cross(u, v)
	if !(r3.Norm(n) > 1e-9*r3.Norm(u)*r3.Norm(v)) {
		return plane{}, false
	}
	n = r3.Unit(n)
	return plane{n, r3.Dot(n, a)}, true
}

func (p plane) above(v r3.Vec) float64 { return r3.Dot(p.normal, v) - p.height }

// A chain is a connected piece of a section. A closed chain does not repeat its
// first point.
type chain struct {
	points []r3.Vec
	closed bool
}

// cut returns the section of the mesh by a plane. A vertex in the plane counts
// as above it, so that every triangle is cut at two edges or at none, and every
// chain runs on until it closes or meets the rim of a hole.
func (m *Mesh) cut(p plane) []chain {
	above := make([]bool, len(m.vertices))
	for i, v := range m.vertices {
		above[i] = p.above(v) >= 0
	}
	links := map[edge]*[2]edge{} // the edges cut next to an edge
	var order []edge             // as found, so that the chains come in a fixed order
	link := func(from, to edge) {
		next, ok := links[from]
		if !ok {
			next = &[2]edge{}
			links[from] = next
			order = append(order, from)
		}
		if next[0] == (edge{}) {
			next[0] = to
		} else {
			next[1] = to
		}
	}
	for _, t := range m.triangles {
		a, b, c := above[t[0]], above[t[1]], above[t[2]]
		if a == b && b == c {
			continue
		}
		// The corner that is alone on its side has both cut edges.
		alone, next, last := t[0], t[1], t[2]
		switch {
		case a == c:
			alone, next, last = t[1], t[2], t[0]
		case a == b:
			alone, next, last = t[2], t[0], t[1]
		}
		e1, e2 := newEdge(alone, next), newEdge(alone, last)
		link(e1, e2)
		link(e2, e1)
	}
	return m.follow(p, links, order)
}

// follow strings cut edges together, from the rims first.
func (m *Mesh) follow(p plane, links map[edge]*[2]edge, order []edge) []chain {
	var chains []chain
	seen := make(map[edge]bool, len(order))
	walk := func(start edge) {
		var c chain
		for e := start; !seen[e]; {
			seen[e] = true
			c.points = append(c.points, m.cutEdge(p, e))
			next := links[e]
			switch {
			case !seen[next[0]]:
				e = next[0]
			case next[1] != (edge{}) && !seen[next[1]]:
				e = next[1]
			default:
				c.closed = next[0] == start || next[1] == start
			}
		}
		c.closed = c.closed && len(c.points) > 2
		chains = append(chains, c)
	}
	for _, e := range order {
		if links[e][1] == (edge{}) && !seen[e] {
			walk(e)
		}
	}
	for _, e := range order {
		if !seen[e] {
			walk(e)
		}
	}
	return chains
}

// cutEdge returns where the plane cuts an edge that has one end above it.
func (m *Mesh) cutEdge(p plane, e edge) r3.Vec {
	a, b := m.vertices[e[0]], m.vertices[e[1]]
	da, db := p.above(a), p.above(b)
	t := da / (da - db)
	return r3.Add(r3.Scale(1-t, a), r3.Scale(t, b))
}

// nearest returns the point of the mesh that is nearest to p.
func (m *Mesh) nearest(p r3.Vec) (q r3.Vec, distance float64) {
	best := math.Inf(1)
	for _, t := range m.triangles {
		a := m.vertices[t[0]]
		// A vertex farther off than the best point and the triangle's
		// size can be passed over without looking at the inside.
		b, c := m.vertices[t[1]], m.vertices[t[2]]
		reach := math.Sqrt(max(r3.Norm2(r3.Sub(b, a)), r3.Norm2(r3.Sub(c, a))))
		if limit := math.Sqrt(best) + reach; r3.Norm2(r3.Sub(p, a)) > limit*limit {
			continue
		}
		if v := nearestInTriangle(p, a, b, c); r3.Norm2(r3.Sub(p, v)) < best {
			q, best = v, r3.Norm2(r3.Sub(p, v))
		}
	}
	return q, math.Sqrt(best)
}

// nearestInTriangle takes the foot of the perpendicular where that lies inside,
// else the nearest point of the sides.
func nearestInTriangle(p, a, b, c r3.Vec) r3.Vec {
	u, v, w := r3.Sub(b, a), r3.Sub(c, a), r3.Sub(p, a)
	uu, uv, vv, wu, wv := r3.Dot(u, u), r3.Dot(u, v), r3.Dot(v, v), r3.Dot(w, u), r3.Dot(w, v)
	if d := uu*vv - uv*uv; d > 0 {
		s, t := (vv*wu-uv*wv)/d, (uu*wv-uv*wu)/d
		if s >= 0 && t >= 0 && s+t <= 1 {
			return r3.Add(a, r3.Add(r3.Scale(s, u), r3.Scale(t, v)))
		}
	}
	q, best := a, math.Inf(1)
	for _, side := range [3][2]r3.Vec{{a, b}, {b, c}, {c, a}} {
		v, _ := nearestInSegment(p, side[0], side[1])
		if d := r3.Norm2(r3.Sub(p, v)); d < best {
			q, best = v, d
		}
	}
	return q
}

// nearestInSegment returns the nearest point and how far it is along the
// segment, from 0 to 1.
func nearestInSegment(p, a, b r3.Vec) (q r3.Vec, t float64) {
	u := r3.Sub(b, a)
	if uu := r3.Norm2(u); uu > 0 {
		t = min(1, max(0, r3.Dot(r3.Sub(p, a), u)/uu))
	}
	return r3.Add(a, r3.Scale(t, u)), t
}
