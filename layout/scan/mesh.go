package scan

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// A Mesh is a surface of triangles, in the coordinates and the unit of the scan
// that it came from. No edge belongs to more than two triangles; an edge of one
// triangle is the rim of a hole.
type Mesh struct {
	vertices  []r3.Vec
	triangles [][3]int32
	dropped   int
}

// NewMesh takes vertices and triangles of three indices each. Vertices at the
// same place become one, as files that repeat them for each triangle need;
// triangles without three different vertices, triangles given again, and
// vertices without a triangle are left out. It refuses a mesh without
// triangles, positions that are no numbers, indices out of range and edges of
// more than two triangles.
func NewMesh(vertices []r3.Vec, triangles [][3]int32) (*Mesh, error) {
	for i, v := range vertices {
		if !isFinite(v) {
			return nil, fmt.Errorf("vertex %d is at (%g, %g, %g): expected numbers", i, v.X, v.Y, v.Z)
		}
	}
	for i, t := range triangles {
		for _, v := range t {
			if v < 0 || int(v) >= len(vertices) {
				return nil, fmt.Errorf("triangle %d has vertex %d: expected 0 to %d", i, v,
					len(vertices)-1)
			}
		}
	}
	m := weld(vertices, triangles)
	if len(m.triangles) == 0 {
		return nil, errors.New("no triangles: expected a surface, not points alone")
	}
	if err := m.checkEdges(); err != nil {
		return nil, err
	}
	return m, nil
}

// Size returns the numbers of different vertices and of triangles.
func (m *Mesh) Size() (vertices, triangles int) { return len(m.vertices), len(m.triangles) }

// Dropped returns how many triangles were left out because they had no area or
// were given again.
func (m *Mesh) Dropped() int { return m.dropped }

// weld joins vertices at the same place and leaves out what is no triangle.
func weld(vertices []r3.Vec, triangles [][3]int32) *Mesh {
	m := &Mesh{triangles: make([][3]int32, 0, len(triangles))}
	const unseen = -1
	renamed := make([]int32, len(vertices))
	for i := range renamed {
		renamed[i] = unseen
	}
	at := make(map[r3.Vec]int32, len(vertices))
	rename := func(i int32) int32 {
		if renamed[i] == unseen {
			v := r3.Add(vertices[i], r3.Vec{}) // a negative zero becomes zero
			n, ok := at[v]
			if !ok {
				n = int32(len(m.vertices))
				at[v] = n
				m.vertices = append(m.vertices, v)
			}
			renamed[i] = n
		}
		return renamed[i]
	}
	seen := make(map[[3]int32]bool, len(triangles))
	for _, t := range triangles {
		t = [3]int32{rename(t[0]), rename(t[1]), rename(t[2])}
		key := t
		slices.Sort(key[:])
		if key[0] == key[1] || key[1] == key[2] || seen[key] {
			m.dropped++
			continue
		}
		seen[key] = true
		m.triangles = append(m.triangles, t)
	}
	return m
}

// An edge has the smaller index first.
type edge [2]int32

func newEdge(a, b int32) edge { return edge{min(a, b), max(a, b)} }

// checkEdges refuses edges of more than two triangles: there a section would
// have to choose its way.
func (m *Mesh) checkEdges() error {
	// Edges as one number each, which sort fast.
	all := make([]uint64, 0, 3*len(m.triangles))
	for _, t := range m.triangles {
		for i := range t {
			e := newEdge(t[i], t[(i+1)%3])
			all = append(all, uint64(e[0])<<32|uint64(e[1]))
		}
	}
	slices.Sort(all)
	var first uint64
	var shared, bad int // triangles of the first bad edge, and how many there are
	for i := 0; i < len(all); {
		n := 1
		for i+n < len(all) && all[i+n] == all[i] {
			n++
		}
		if n > 2 {
			if bad == 0 {
				first, shared = all[i], n
			}
			bad++
		}
		i += n
	}
	if bad == 0 {
		return nil
	}
	p, q := m.vertices[first>>32], m.vertices[uint32(first)]
	return fmt.Errorf("the edge from (%g, %g, %g) to (%g, %g, %g) belongs to %d triangles (edges of more than two: "+
		"%d): repair the scan",
		p.X, p.Y, p.Z, q.X, q.Y, q.Z, shared, bad)
}

// moved returns the mesh after a change of coordinates.
func (m *Mesh) moved(move func(r3.Vec) r3.Vec) *Mesh {
	n := &Mesh{vertices: make([]r3.Vec, len(m.vertices)), triangles: m.triangles, dropped: m.dropped}
	for i, v := range m.vertices {
		n.vertices[i] = move(v)
	}
	return n
}

func isFinite(v r3.Vec) bool {
	sum := v.X - v.X + v.Y - v.Y + v.Z - v.Z // NaN or 0
	return !math.IsNaN(sum)
}
