package page

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout/head"
	"calotte/render/scalp"
	"calotte/topo"
)

// Cells of the grid across the chart of the view from above, whose edge is the
// unit circle: few for up to fewSites, which carry no detail that needs more.
const (
	fewCells  = 72
	manyCells = 96
	fewSites  = 128
)

// gridReach is how far beyond the edge the grid has nodes, in cells, and
// gridMargin how much of it the interpolation from 6 × 6 nodes takes.
const (
	gridReach  = 6
	gridMargin = 4.3
)

// A grid is the nodes that fields are computed at.
type grid struct {
	Cells int   `json:"cells"`
	Side  int   `json:"side"`  // nodes along one side of the square that they are part of
	Nodes []int `json:"spans"` // for each row of the square how many nodes, about the middle
	at    []r2.Vec
}

func newGrid(sites int) grid {
	cells := fewCells
	if sites > fewSites {
		cells = manyCells
	}
	half := cells/2 + gridReach
	g := grid{Cells: cells, Side: 2*half + 1}
	for row := -half; row <= half; row++ {
		reach := int(math.Sqrt(float64(half*half - row*row)))
		g.Nodes = append(g.Nodes, 2*reach+1)
		for column := -reach; column <= reach; column++ {
			g.at = append(g.at, r2.Scale(2/float64(cells), r2.Vec{X: float64(column), Y: float64(row)}))
		}
	}
	return g
}

// directions are where on the head the nodes lie.
func (g grid) directions(model head.Ellipsoid) []r3.Vec {
	top := scalp.TopView(model)
	list := make([]r3.Vec, len(g.at))
	for i, p := range g.at {
		list[i] = top.Direction(r2.Vec{X: p.X * top.Right, Y: p.Y * top.Front})
	}
	return list
}

// A kernel is a row for each site: what 1 µV there alone makes of each node,
// and after them of each site.
func (s *Study) kernel(g grid, q topo.Quantity) ([][]float64, error) {
	points := g.directions(s.Head)
	for _, site := range s.Sites {
		points = append(points, site.Position)
	}
	weights, err := s.Spline.Weights(points, q)
	if err != nil {
		return nil, err
	}
	rows := make([][]float64, len(s.Sites))
	for i := range rows {
		rows[i] = mat.Col(nil, i, weights)
	}
	return rows, nil
}

// kernelSteps is how finely weights are kept: the largest over this.
const kernelSteps = 1 << 15

func kernelStep(rows [][]float64) float64 {
	largest := 0.
	for _, row := range rows {
		for _, w := range row {
			largest = max(largest, math.Abs(w))
		}
	}
	return largest / kernelSteps
}

// within takes a place on the chart beyond the reach of the grid, which only
// the sides' far rim has, to the nearest that has all nodes to interpolate
// from.
func (g grid) within(at r2.Vec) r2.Vec {
	most := 1 + (gridReach-gridMargin)*2/float64(g.Cells)
	if r := r2.Norm(at); r > most {
		return r2.Scale(most/r, at)
	}
	return at
}
