package inference

import (
	"fmt"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
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
	hull, err := layout.NewHull(positions)
	if err != nil {
		return nil, err
	}
	n := len(positions)
	units, joined := make([]r3.Vec, n), make([][]bool, n)
	for i, p := range positions {
		units[i], joined[i] = r3.Unit(p), make([]bool, n)
	}
	hull.Edges(func(i, j int) { joined[i][j] = true })
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
