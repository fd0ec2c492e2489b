package scalp

import (
	"slices"
	"sync"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/topo"
	"calotte/topo/measure"
)

// A Reach is how far the electrodes reach on a map: where they know the field,
// where it is guessed and hatched, and where there is nothing but paper.
type Reach struct {
	// All says that what would be paper is drawn and hatched, too.
	All bool
	// Knows says that the electrodes know the field somewhere on the map.
	Knows bool

	// guess and paper are above zero where the map is guessed, and where it
	// is paper; unit is the error of the interpolation where σ² is 1 µV².
	guess, paper, unit *Field
	nodes              []standing // of the maps' own grid
	// points are the directions of the maps' own grid, then the row's
	// sites; ignorance is what belongs to them.
	points    []r3.Vec
	ignorance func() ([]topo.Ignorance, error)
}

// reachCells are those of a reach across the disc, some 5 mm on a head: to find
// it takes time in proportion to nodes and to the square of sites.
const reachCells = 64

// NewReach finds it for maps on a grid. Sites are those of the row.
func NewReach(g Grid, sites []layout.Site, k *Knowledge) (*Reach, error) {
	r := &Reach{points: slices.Clone(g.Directions)}
	for _, s := range sites {
		r.points = append(r.points, s.Position)
	}
	r.ignorance = sync.OnceValues(func() ([]topo.Ignorance, error) { return k.Spline.Ignorance(r.points) })
	coarse := newGrid(g.view, reachCells)
	ignorance, err := k.Spline.Ignorance(coarse.Directions)
	if err != nil {
		return nil, err
	}
	guess, paper := make([]float64, len(ignorance)), make([]float64, len(ignorance))
	unit := make([]float64, len(ignorance))
	for i, s := range k.Of(coarse.Directions, ignorance) {
		guess[i], paper[i], unit[i] = s.Guess, s.Paper, ignorance[i].Against(1, k.Rough.Nugget)
		r.Knows = r.Knows || coarse.Shown(coarse.Nodes[i]) && s.Guess <= 0 && s.Paper <= 0
	}
	r.guess, r.paper, r.unit = coarse.Field(guess), coarse.Field(paper), coarse.Field(unit)
	r.guess.creased, r.paper.creased, r.unit.creased = true, true, true
	for _, node := range g.Nodes {
		p := g.Point(node)
		at := standing{onMap: g.Shown(node), unit: r.unit.At(p)}
		at.drawn = at.onMap && r.Shows(p)
		at.known = at.drawn && r.guess.At(p) <= 0
		r.nodes = append(r.nodes, at)
	}
	return r, nil
}

// A standing is what is known at a node: whether it lies on the map, whether
// there is a field, whether the electrodes know it, and the error of the
// interpolation where σ² is 1 µV².
type standing struct {
	onMap, drawn, known bool
	unit                float64
}

// Drawn reports whether the map has a field at the grid's i-th node, and Known
// whether the electrodes know it.
func (r *Reach) Drawn(i int) bool { return r.nodes[i].drawn || r.All && r.nodes[i].onMap }
func (r *Reach) Known(i int) bool { return r.nodes[i].known }

// drawn is not negative where the map has a field.
func (r *Reach) drawn(p r2.Vec) float64 {
	if r.All {
		return 1
	}
	return -r.paper.At(p)
}

// guessed is above zero where the map has a field that the electrodes do not
// know.
func (r *Reach) guessed(p r2.Vec) float64 {
	unsure := r.guess.At(p)
	if r.All {
		return max(unsure, r.paper.At(p))
	}
	return min(unsure, -r.paper.At(p))
}

// Points are the grid's directions, then the row's sites.
func (r *Reach) Points() []r3.Vec { return r.points }

// Shows reports whether the map has a field at a place on the chart.
func (r *Reach) Shows(p r2.Vec) bool { return r.drawn(p) >= 0 }

// Keep leaves of lines what lies where the map has a field.
func (r *Reach) Keep(lines []Line) []Line {
	if r.All {
		return lines
	}
	return clip(lines, r.drawn)
}

// Paper is the part of a map, or of its right half, without a field; empty
// where there is none.
func (r *Reach) Paper(at Frame, rightHalf bool) vg.Path {
	if r.All {
		return nil
	}
	land := at.View.territory(rightHalf)
	lines := r.edges()
	return at.path(land.rings(lines, true, func(p r2.Vec) bool { return r.paper.At(p) >= -edgeTolerance }))
}

// edgeTolerance is how far, of what is allowed, an edge may be off.
const edgeTolerance = 1e-3

// edges are where the field ends.
func (r *Reach) edges() []Line {
	const refinement = 1
	return r.paper.Contours([]float64{0}, refinement, edgeTolerance)[0]
}

// Edge is where the field ends on a map.
func (r *Reach) Edge(at Frame, rightHalf bool) vg.Path {
	if r.All {
		return nil
	}
	return at.path(clip(r.edges(), at.View.within(rightHalf)))
}

// MarkRadius is that of the marks of a row on a map.
func (f Frame) MarkRadius(marks []Mark) vg.Length { return f.markRadius(markSpacing(marks)) }

// markSpacing is the median angle in radians from an electrode with data of its
// own to the nearest other one; NaN where there are not two.
func markSpacing(marks []Mark) float64 {
	var positions []r3.Vec
	for _, m := range marks {
		if m.Kind == Measured {
			positions = append(positions, m.Site.Position)
		}
	}
	return measure.Spacing(positions)
}
