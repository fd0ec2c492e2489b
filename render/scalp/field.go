package scalp

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// A grid's cells across the disc: enough for a departure of 0.1 % of the scale
// from the spline, be the potentials as rough as the sites can carry.
const (
	fewCells  = 96
	someCells = 144 // enough for potentials of many sites
	manyCells = 192 // enough for what is rougher than they are
	// fewSites is the most that fewCells suffice for.
	fewSites = 128
)

// gridMargin is how many nodes a grid has beyond the disc on each side, which
// the interpolation near the edge needs.
const gridMargin = 3

// taps is how many nodes along each axis one interpolated value comes from.
const taps = 6

// A mesh is a square of nodes about the middle of the disc.
type mesh struct {
	cells int     // across the disc, even
	side  int     // nodes along one side
	step  float64 // on the disc
	// creased asks for straight lines between nodes, since a cubic would
	// overshoot.
	creased bool
}

func newMesh(cells int) mesh {
	return mesh{cells: cells, side: cells + 1 + 2*gridMargin, step: 2 / float64(cells)}
}

// coordinate is exactly odd about the middle node, so that a symmetric field is
// sampled symmetrically.
func (m mesh) coordinate(index int) float64 { return float64(index-m.side/2) * m.step }

// Point is where a node lies on the disc.
func (m mesh) Point(node int) r2.Vec {
	return r2.Vec{X: m.coordinate(node % m.side), Y: m.coordinate(node / m.side)}
}

// index is the coordinate of nodes, 0 at the first, of a point.
func (m mesh) index(x float64) float64 { return x/m.step + float64(m.side/2) }

// A Grid is where on the head the nodes of a mesh lie. Nodes too far from the
// disc to matter are left out.
type Grid struct {
	mesh
	view       Projection
	Nodes      []int // positions in a Field
	Directions []r3.Vec
}

func newGrid(view Projection, cells int) Grid {
	g := Grid{mesh: newMesh(cells), view: view}
	reach := 1 + 5*g.step // three nodes diagonally, and a little
	for node := range g.side * g.side {
		if p := g.Point(node); r2.Norm(p) <= reach {
			g.Nodes = append(g.Nodes, node)
			g.Directions = append(g.Directions, view.fromChart(p))
		}
	}
	return g
}

// A Field is one map's values at the nodes of a grid, with bicubic
// interpolation between them: the surface that is coloured and along which
// contours run.
type Field struct {
	mesh
	values []float64 // row by row from the back left
}

// Field is what lies between the values at the nodes.
func (g Grid) Field(values []float64) *Field {
	f := &Field{mesh: g.mesh, values: make([]float64, g.side*g.side)}
	for i, node := range g.Nodes {
		f.values[node] = values[i]
	}
	return f
}

// At is the field at a point of the chart, the unit disc; outside, the nearest
// edge of the grid.
func (f *Field) At(p r2.Vec) float64 {
	column, wx := f.locate(p.X)
	row, wy := f.locate(p.Y)
	var sum float64
	for j := range taps {
		v := f.values[(row+j)*f.side+column:][:taps]
		sum += wy[j] * (wx[0]*v[0] + wx[1]*v[1] + wx[2]*v[2] + wx[3]*v[3] + wx[4]*v[4] + wx[5]*v[5])
	}
	return sum
}

// locate finds the first of the nodes around coordinate x and their weights.
func (m mesh) locate(x float64) (first int, weights [taps]float64) {
	at := m.index(x) - (taps/2 - 1)
	first = min(max(int(math.Floor(at)), 0), m.side-taps)
	t := min(max(at-float64(first), 0), 1)
	if m.creased {
		return first, [taps]float64{2: 1 - t, 3: t}
	}
	return first, cubic(t)
}

// cubic gives the weights of six equally spaced nodes, two before the interval
// t lies in and two after, of the cubic Hermite interpolant whose slopes at
// both ends come from the fourth-order central difference. The result has
// continuous first derivatives and an error of h⁴/384 times the fourth
// derivative.
func cubic(t float64) [taps]float64 {
	t2, t3 := t*t, t*t*t
	value0, value1 := 2*t3-3*t2+1, 3*t2-2*t3
	slope0, slope1 := (t3-2*t2+t)/12, (t3-t2)/12
	return [taps]float64{
		slope0,
		slope1 - 8*slope0,
		value0 - 8*slope1,
		value1 + 8*slope0,
		8*slope1 - slope0,
		-slope1,
	}
}

// Rows evaluates the field along parallels to the x axis, much faster than At
// does point by point: the six rows around each y are combined once.
type Rows struct {
	field   *Field
	firsts  []int
	weights [][taps]float64
	line    []float64
}

// NewRows prepares to read a field row by row, at the given places in a row.
func NewRows(f *Field, xs []float64) *Rows {
	r := &Rows{
		field: f, firsts: make([]int, len(xs)), weights: make([][taps]float64, len(xs)),
		line: make([]float64, f.side),
	}
	for i, x := range xs {
		r.firsts[i], r.weights[i] = f.locate(x)
	}
	return r
}

// MoveTo chooses the parallel.
func (r *Rows) MoveTo(y float64) {
	first, weights := r.field.locate(y)
	clear(r.line)
	for j, w := range weights {
		row := r.field.values[(first+j)*r.field.side:][:len(r.line)]
		for i, v := range row {
			r.line[i] += w * v
		}
	}
}

// At is the value at the i-th x of the chosen parallel.
func (r *Rows) At(i int) float64 {
	w, v := &r.weights[i], r.line[r.firsts[i]:][:taps]
	return w[0]*v[0] + w[1]*v[1] + w[2]*v[2] + w[3]*v[3] + w[4]*v[4] + w[5]*v[5]
}

// Contours returns the lines along which the field equals each of the levels,
// inside the unit disc. Each coarse cell is divided into refine × refine, and
// every vertex lies on the interpolant to within tolerance.
func (f *Field) Contours(levels []float64, refine int, tolerance float64) [][]Line {
	lines := f.trace(levels, refine, tolerance)
	for i := range lines {
		lines[i] = clip(lines[i], inDisc)
	}
	return lines
}

// trace is Contours, a little beyond the disc.
func (f *Field) trace(levels []float64, refine int, tolerance float64) [][]Line {
	t := newTracer(f.refined(refine), f.At, tolerance)
	lines := make([][]Line, len(levels))
	for i, level := range levels {
		lines[i] = t.trace(level)
	}
	return lines
}

// refined is the field on the lattice that contours are traced through: all
// cells that the disc touches, for which the grid has the nodes.
func (f *Field) refined(refine int) *lattice {
	half := f.cells/2*refine + refine // from the middle to the edge and across it
	l := &lattice{side: 2*half + 1, step: f.step / float64(refine)}
	l.origin = -float64(half) * l.step
	l.values = make([]float64, l.side*l.side)
	xs := make([]float64, l.side)
	for i := range xs {
		xs[i] = float64(i-half) * l.step
	}
	r := NewRows(f, xs)
	for row, y := range xs {
		r.MoveTo(y)
		reach := reachAt(max(math.Abs(y)-l.step, 0), l.step)
		for column := max(half-reach, 0); column <= min(half+reach, l.side-1); column++ {
			l.values[row*l.side+column] = r.At(column)
		}
		if row+1 < l.side {
			reach = reachAt(min(math.Abs(y), math.Abs(y+l.step)), l.step)
			l.spans = append(l.spans, [2]int{max(half-reach, 0), min(half+reach, l.side-1)})
		}
	}
	return l
}

// reachAt is how many steps from the middle, rounded up, the disc reaches at a
// height, none above it.
func reachAt(height, step float64) int {
	if height >= 1 {
		return 0
	}
	return int(math.Ceil(math.Sqrt(1-height*height) / step))
}

// Shown reports whether a node lies inside the map.
func (g Grid) Shown(node int) bool { return g.view.inside(g.Point(node)) >= 0 }
