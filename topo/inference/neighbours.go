package inference

import (
	"fmt"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// longestEdge, times the median edge, is where sites are too far apart to be
// neighbours.
const longestEdge = 1.8

// Neighbours lists, for each site, its neighbours on the head: those that the
// spherical Delaunay triangulation joins, without its triangles over the open
// base below all sites and without edges longer than 1.8 times the median.
// Where four sites or more lie on one circle, all that it holds are neighbours.
// Positions are projected onto a sphere about the origin; two at one place are
// an error.
func Neighbours(positions []r3.Vec) ([][]int, error) {
	n := len(positions)
	if n < 4 {
		return nil, fmt.Errorf("%d sites: neighbours need four or more", n)
	}
	units := make([]r3.Vec, n)
	lowest := 1.
	for i, p := range positions {
		units[i] = r3.Unit(p)
		lowest = min(lowest, units[i].Z)
		for k := range i {
			if r3.Norm(r3.Sub(units[i], units[k])) < 1e-6 {
				return nil, fmt.Errorf("sites %d and %d are at one place", k+1, i+1)
			}
		}
	}
	joined := make([][]bool, n)
	for i := range joined {
		joined[i] = make([]bool, n)
	}
	// A triangle is of the triangulation if no site lies beyond the plane
	// through its corners, which is the circle through them on the sphere.
	for i := range n {
		for j := i + 1; j < n; j++ {
			for k := j + 1; k < n; k++ {
				if up, ok := facet(units, i, j, k); ok && up.Z >= lowest {
					joined[i][j], joined[j][k], joined[i][k] = true, true, true
				}
			}
		}
	}
	var lengths []float64
	for i := range n {
		for j := i + 1; j < n; j++ {
			if joined[i][j] {
				lengths = append(lengths, r3.Norm(r3.Sub(units[i], units[j])))
			}
		}
	}
	if len(lengths) == 0 {
		return nil, fmt.Errorf("%d sites in one plane have no neighbours", n)
	}
	slices.Sort(lengths)
	most := longestEdge * lengths[len(lengths)/2]
	out := make([][]int, n)
	for i := range n {
		for j := i + 1; j < n; j++ {
			if joined[i][j] && r3.Norm(r3.Sub(units[i], units[j])) <= most {
				out[i], out[j] = append(out[i], j), append(out[j], i)
			}
		}
	}
	return out, nil
}

// facet returns the outward direction of a triangle that all other sites lie
// behind.
func facet(units []r3.Vec, i, j, k int) (outward r3.Vec, ok bool) {
	normal := r3.Cross(r3.Sub(units[j], units[i]), r3.Sub(units[k], units[i]))
	length := r3.Norm(normal)
	if length < 1e-12 {
		return normal, false
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
			return normal, false
		}
	}
	if ahead {
		normal = r3.Scale(-1, normal)
	}
	return normal, true
}
