package scalp

import (
	"slices"

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

	// guess and paper are above zero on the grid where the map is guessed,
	// and where it is paper.
	guess, paper *Field
	// points are the grid's directions, then the row's sites; the others
	// belong to them.
	points    []r3.Vec
	ignorance []topo.Ignorance
	standings []topo.Standing
}

// NewReach finds it on a grid. Sites are those of the row.
func NewReach(g Grid, sites []layout.Site, k *Knowledge) (*Reach, error) {
	r := &Reach{points: slices.Clone(g.Directions)}
	for _, s := range sites {
		r.points = append(r.points, s.Position)
	}
	var err error
	if r.ignorance, err = k.Spline.Ignorance(r.points); err != nil {
		return nil, err
	}
	r.standings = k.Of(r.points, r.ignorance)
	guess, paper := make([]float64, len(g.Directions)), make([]float64, len(g.Directions))
	for i := range guess {
		guess[i], paper[i] = r.standings[i].Guess, r.standings[i].Paper
	}
	r.guess, r.paper = g.Field(guess), g.Field(paper)
	r.guess.creased, r.paper.creased = true, true
	for i, node := range g.Nodes {
		r.Knows = r.Knows || g.Shown(node) && r.Known(i)
	}
	return r, nil
}

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

// Known reports whether the electrodes know the field at the grid's i-th
// direction, and Drawn whether the map shows it.
func (r *Reach) Known(i int) bool { return r.standings[i].Guess <= 0 && r.standings[i].Paper <= 0 }
func (r *Reach) Drawn(i int) bool { return r.All || r.standings[i].Paper <= 0 }

// Keep leaves of lines what lies where the map has a field.
func (r *Reach) Keep(lines []Line) []Line {
	if r.All {
		return lines
	}
	return clip(lines, r.drawn)
}

// Paper is the part of a map, or of its right half, without a field; empty where
// there is none.
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
	return at.path(clip(r.edges(), at.View.territory(rightHalf).inside))
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
