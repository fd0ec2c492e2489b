package layout

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A Hull is the part of a head that lies between its electrodes: the triangles
// of the spherical Delaunay triangulation, without those over the open base
// below all of them.
type Hull struct {
	units  []r3.Vec // sites on the unit sphere
	facets [][3]int // counter-clockwise from outside
	rim    [][2]int // the edges that only one facet has
}

// NewHull triangulates sites, whose positions are projected onto a sphere about
// the origin. Where four or more lie on one circle, all triangles between them
// count. Fewer than four sites and two at one place are an error.
func NewHull(positions []r3.Vec) (*Hull, error) {
	n := len(positions)
	if n < 4 {
		return nil, fmt.Errorf("%d sites: what lies between them needs four or more", n)
	}
	h := &Hull{units: make([]r3.Vec, n)}
	lowest := 1.
	for i, p := range positions {
		h.units[i] = r3.Unit(p)
		lowest = min(lowest, h.units[i].Z)
		for k := range i {
			if r3.Norm(r3.Sub(h.units[i], h.units[k])) < 1e-6 {
				return nil, fmt.Errorf("sites %d and %d are at one place", k+1, i+1)
			}
		}
	}
	// A triangle is of the triangulation if no site lies beyond the plane
	// through its corners, which is the circle through them on the sphere.
	// The middle of a circle over the base lies below all sites.
	for i := range n {
		for j := i + 1; j < n; j++ {
			for k := j + 1; k < n; k++ {
				if f, up := facet(h.units, i, j, k); up.Z >= lowest {
					h.facets = append(h.facets, f)
				}
			}
		}
	}
	h.findRim()
	return h, nil
}

// facet returns a triangle that all other sites lie behind, counter-clockwise
// from outside, and its outward direction, which is downward where there is no
// such triangle.
func facet(units []r3.Vec, i, j, k int) (corners [3]int, outward r3.Vec) {
	none := r3.Vec{Z: -2}
	normal := r3.Cross(r3.Sub(units[j], units[i]), r3.Sub(units[k], units[i]))
	length := r3.Norm(normal)
	if length < 1e-12 {
		return corners, none
	}
	normal = r3.Scale(1/length, normal)
	const plane = 1e-9
	ahead, behind := false, false
	for m, u := range units {
		if m == i || m == j || m == k {
			continue
		}
		switch d := r3.Dot(normal, r3.Sub(u, units[i])); {
		case d > plane:
			ahead = true
		case d < -plane:
			behind = true
		}
		if ahead && behind {
			return corners, none
		}
	}
	if ahead {
		return [3]int{i, k, j}, r3.Scale(-1, normal)
	}
	return [3]int{i, j, k}, normal
}

// findRim lists the edges with a facet on one side only. Facets of four sites
// on one circle overlap, so sides are counted, not facets.
func (h *Hull) findRim() {
	left := map[[2]int]bool{}
	for _, f := range h.facets {
		for k := range f {
			left[[2]int{f[k], f[(k+1)%3]}] = true
		}
	}
	for _, f := range h.facets {
		for k := range f {
			from, to := f[k], f[(k+1)%3]
			if left[[2]int{from, to}] && !left[[2]int{to, from}] {
				h.rim = append(h.rim, [2]int{from, to})
				left[[2]int{from, to}] = false
			}
		}
	}
}

// Edges calls each with every two sites, in ascending order, that an edge
// joins, once or more.
func (h *Hull) Edges(each func(i, j int)) {
	for _, f := range h.facets {
		for k := range f {
			i, j := f[k], f[(k+1)%3]
			each(min(i, j), max(i, j))
		}
	}
}

// Outside is the angle in radians from a direction, of any length, to the
// nearest place between the sites: zero there.
func (h *Hull) Outside(direction r3.Vec) float64 {
	p := r3.Unit(direction)
	for _, f := range h.facets {
		if h.above(f, p) {
			return 0
		}
	}
	least := math.Pi
	for _, u := range h.units {
		least = min(least, angleBetween(p, u))
	}
	for _, e := range h.rim {
		least = min(least, toArc(p, h.units[e[0]], h.units[e[1]]))
	}
	return least
}

// above reports whether the ray from the origin meets a facet.
func (h *Hull) above(f [3]int, p r3.Vec) bool {
	const edge = -1e-12
	a, b, c := h.units[f[0]], h.units[f[1]], h.units[f[2]]
	return r3.Dot(r3.Cross(a, b), p) >= edge && r3.Dot(r3.Cross(b, c), p) >= edge &&
		r3.Dot(r3.Cross(c, a), p) >= edge
}

// toArc is the angle to the nearest place inside the arc from a to b; π where
// an end is nearer.
func toArc(p, a, b r3.Vec) float64 {
	normal := r3.Unit(r3.Cross(a, b))
	foot := r3.Sub(p, r3.Scale(r3.Dot(p, normal), normal))
	if r3.Dot(r3.Cross(normal, a), foot) < 0 || r3.Dot(r3.Cross(b, normal), foot) < 0 {
		return math.Pi
	}
	return math.Abs(math.Asin(max(-1, min(1, r3.Dot(p, normal)))))
}

func angleBetween(p, q r3.Vec) float64 {
	return math.Atan2(r3.Norm(r3.Cross(p, q)), r3.Dot(p, q))
}
