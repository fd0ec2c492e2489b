package layout

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// A Hull is the part of a head that lies between its electrodes: the triangles
// of the spherical Delaunay triangulation, without those over the open base
// below all of them. Sites on one side of the head have nothing between them on
// the other.
type Hull struct {
	units  []r3.Vec    // sites on the unit sphere
	facets [][3]int    // counter-clockwise from outside
	close  [][3]int    // those without a site below the middle of their circle
	sides  [][3]r3.Vec // of each facet, inward: the planes through the origin and its edges
	rim    [][2]int    // the edges that only one facet has
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
	for i, p := range positions {
		h.units[i] = r3.Unit(p)
		for k := range i {
			if r3.Norm(r3.Sub(h.units[i], h.units[k])) < 1e-6 {
				return nil, fmt.Errorf("sites %d and %d are at one place", k+1, i+1)
			}
		}
	}
	h.wrap()
	for _, f := range h.facets {
		a, b, c := h.units[f[0]], h.units[f[1]], h.units[f[2]]
		h.sides = append(h.sides, [3]r3.Vec{r3.Cross(a, b), r3.Cross(b, c), r3.Cross(c, a)})
	}
	h.findRim()
	return h, nil
}

// overBase is how far down, in radii, the middle of a circle lies that spans
// the open base: nearer to straight down than to the ring of T7 and T8. A
// triangle from T9 over F7 to Fpz is kept, and one from T9 over Fpz to T10 is
// not. That is this project's own choice.
const overBase = math.Sqrt2 / 2

// even is how far, in radii, a site may lie from a plane that it counts as on.
const even = 1e-9

// wrap finds the faces of the sites' convex hull, one from the edge of another:
// no site lies beyond their planes, which are circles on the sphere. The first
// edge is from a site to the nearest. Faces with the centre of the head before
// them, where all sites are on one side of it, and those that span the open
// base are not kept.
func (h *Hull) wrap() {
	near, lowest := 1, 1.
	for k, u := range h.units {
		lowest = min(lowest, u.Z)
		if k > 0 && r3.Dot(h.units[0], h.units[k]) > r3.Dot(h.units[0], h.units[near]) {
			near = k
		}
	}
	seen := map[[2]int]bool{}
	for open := [][2]int{{0, near}}; len(open) > 0; {
		edge := open[len(open)-1]
		open = open[:len(open)-1]
		if seen[edge] {
			continue
		}
		corners, outward := h.face(edge[0], edge[1])
		for k, i := range corners {
			j := corners[(k+1)%len(corners)]
			seen[[2]int{i, j}] = true
			open = append(open, [2]int{j, i})
		}
		if outward.Z >= -overBase && r3.Dot(outward, h.units[edge[0]]) > even {
			h.keep(corners, outward.Z >= lowest)
		}
	}
}

// face returns the corners of the face to the left of an edge,
// counter-clockwise from outside, and its outward direction.
func (h *Hull) face(i, j int) (corners []int, outward r3.Vec) {
	from := h.units[i]
	along := r3.Sub(h.units[j], from)
	for k, u := range h.units {
		if k != i && k != j && (outward == r3.Vec{} || r3.Dot(outward, r3.Sub(u, from)) > 0) {
			outward = r3.Unit(r3.Cross(along, r3.Sub(u, from)))
		}
	}
	for k, u := range h.units {
		if k == i || k == j || math.Abs(r3.Dot(outward, r3.Sub(u, from))) < even {
			corners = append(corners, k)
		}
	}
	// Seen from one of them, the others on a circle come in the order of
	// their angles, within half a turn.
	slices.SortFunc(corners[1:], func(a, b int) int {
		first := h.units[corners[0]]
		turn := r3.Cross(r3.Sub(h.units[a], first), r3.Sub(h.units[b], first))
		return cmp.Compare(0, r3.Dot(outward, turn))
	})
	return corners, outward
}

// keep adds all triangles between the corners of a face.
func (h *Hull) keep(corners []int, close bool) {
	for k, c := range corners {
		for j, b := range corners[:k] {
			for _, a := range corners[:j] {
				h.facets = append(h.facets, [3]int{a, b, c})
				if close {
					h.close = append(h.close, [3]int{a, b, c})
				}
			}
		}
	}
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
// joins, once or more: without those whose circles have their middle below all
// sites, which are far apart at the rim.
func (h *Hull) Edges(each func(i, j int)) {
	for _, f := range h.close {
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
	const edge = -1e-12
	for _, s := range h.sides {
		if r3.Dot(s[0], p) >= edge && r3.Dot(s[1], p) >= edge && r3.Dot(s[2], p) >= edge {
			return 0
		}
	}
	nearest := h.units[0]
	for _, u := range h.units {
		if r3.Dot(p, u) > r3.Dot(p, nearest) {
			nearest = u
		}
	}
	least := math.Atan2(r3.Norm(r3.Cross(p, nearest)), r3.Dot(p, nearest))
	for _, e := range h.rim {
		least = min(least, toArc(p, h.units[e[0]], h.units[e[1]]))
	}
	return least
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
