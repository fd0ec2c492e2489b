package page

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"

	"calotte/render/scalp"
)

// halfWidth is half the width of a map in its own coordinates.
const halfWidth = 100

// latticeCells are the cells of a view's lattice across the wider of its
// half-axes.
const latticeCells = 100

// A view is one way to look at the head: its lines, and where on the chart of
// the view from above the nodes of its lattice lie. Coordinates are of a page,
// y down.
type view struct {
	Name      string     `json:"name"`
	Box       [4]float64 `json:"box"` // left, top, width and height that hold the map
	Edge      string     `json:"edge"`
	Outline   string     `json:"outline"`
	Graticule string     `json:"graticule"`
	Face      string     `json:"face"`
	Ticks     string     `json:"ticks"`
	Hatch     string     `json:"hatch"` // what is guessed
	Paper     string     `json:"paper"` // what is not known
	Radius    float64    `json:"radius"`
	Landmarks []name     `json:"landmarks"`
	Places    []place    `json:"places"`
	Lattice   lattice    `json:"lattice"`
}

type name struct {
	Text string  `json:"text"`
	X    float64 `json:"x"`
	Y    float64 `json:"y"`
	// Side says where the text goes: -1 left of it, 1 right, 0 above or
	// below.
	Side  int  `json:"side"`
	Below bool `json:"below"`
}

type place struct {
	X    float64 `json:"x"`
	Y    float64 `json:"y"`
	Seen bool    `json:"seen"`
}

// A lattice is square cells over a map. Chart holds, row by row, the x and then
// the y of its nodes on the chart of the view from above; Inside are the first
// and the last node of each row that belong to the map or are next to it.
type lattice struct {
	Columns int      `json:"columns"`
	Rows    int      `json:"rows"`
	Left    float64  `json:"left"`
	Top     float64  `json:"top"`
	Cell    float64  `json:"cell"`
	Inside  [][2]int `json:"inside"`
	Chart   packed   `json:"chart"`
}

// chartStep is how finely places on the chart are kept.
const chartStep = 1. / (1 << 14)

// views draws the study's head from all sides. Territory and radii are those of
// electrodes that are all measured.
func (s *Study) views(g grid, k *scalp.Knowledge) ([]view, error) {
	var list []view
	for _, from := range shownViews {
		p := scalp.SideView(s.Head, from)
		ground, err := p.Ground(halfWidth, s.Sites, scalp.MeasuredAt(s.Sites), k)
		if err != nil {
			return nil, err
		}
		v := view{
			Name: from.String(), Edge: svgPath(ground.Edge), Outline: svgPath(ground.Outline),
			Graticule: svgPath(ground.Graticule),
			Face:      svgPath(ground.Face), Ticks: svgPath(ground.Ticks), Hatch: svgPath(ground.Hatch),
			Paper:  svgPath(ground.Paper),
			Radius: rounded(float64(ground.MarkRadius)),
		}
		for _, l := range ground.Landmarks {
			v.Landmarks = append(v.Landmarks,
				name{l.Name, rounded(float64(l.At.X)), rounded(-float64(l.At.Y)), int(l.Outward.X),
					l.Outward.Y < 0})
		}
		for i, at := range ground.Places {
			v.Places = append(v.Places,
				place{rounded(float64(at.X)), rounded(-float64(at.Y)), ground.Visible[i]})
		}
		v.Box = boxOf(ground.Outline, ground.Face, ground.Ticks)
		if v.Lattice, err = newLattice(p, scalp.TopView(s.Head), g); err != nil {
			return nil, err
		}
		list = append(list, v)
	}
	return list, nil
}

// boxOf is the rectangle around paths with room for the landmarks' names.
func boxOf(paths ...vg.Path) [4]float64 {
	left, top, right, bottom := 0., 0., 0., 0.
	for _, path := range paths {
		for _, c := range path {
			for _, at := range append([]vg.Point{c.Pos}, c.Control...) {
				left, right = min(left, float64(at.X)), max(right, float64(at.X))
				top, bottom = min(top, -float64(at.Y)), max(bottom, -float64(at.Y))
			}
		}
	}
	const room, beside = 15, 22
	half := math.Ceil(max(-left, right) + beside)
	top, bottom = math.Floor(top-room), math.Ceil(bottom+room)
	return [4]float64{-half, top, 2 * half, bottom - top}
}

// newLattice places nodes over the map of a view.
func newLattice(p, top scalp.Projection, g grid) (lattice, error) {
	cell := 2 * max(p.Right, p.Front) / latticeCells
	across, along := int(math.Ceil(p.Right/cell))+1, int(math.Ceil(p.Front/cell))+1
	l := lattice{Columns: 2*across + 1, Rows: 2*along + 1, Cell: cell * halfWidth,
		Left: -float64(across) * cell * halfWidth, Top: -float64(along) * cell * halfWidth}
	var xs, ys [][]float64
	for row := along; row >= -along; row-- {
		rowX, rowY := make([]float64, l.Columns), make([]float64, l.Columns)
		first, last := l.Columns, -1
		for column := -across; column <= across; column++ {
			at := r2.Vec{X: float64(column) * cell, Y: float64(row) * cell}
			if near(p, at, cell) {
				first, last = min(first, column+across), max(last, column+across)
			}
			d := top.Project(p.Direction(at))
			chart := g.within(r2.Vec{X: d.X / top.Right, Y: d.Y / top.Front})
			rowX[column+across], rowY[column+across] = chart.X, chart.Y
		}
		l.Inside = append(l.Inside, [2]int{first, last})
		xs, ys = append(xs, rowX), append(ys, rowY)
	}
	var err error
	l.Chart, err = pack(append(xs, ys...), chartStep, ofSmooth)
	return l, err
}

// near reports whether a place on the page lies on the map of a view, or within
// a cell and a half of it.
func near(p scalp.Projection, at r2.Vec, cell float64) bool {
	reach := 1.5 * cell
	for _, d := range []r2.Vec{{}, {X: reach}, {X: -reach}, {Y: reach}, {Y: -reach}} {
		if p.Shows(r2.Add(at, d)) {
			return true
		}
	}
	return false
}

// svgPath writes a path for a page, y down.
func svgPath(p vg.Path) string {
	var b strings.Builder
	point := func(at vg.Point) { fmt.Fprintf(&b, "%g %g", rounded(float64(at.X)), rounded(-float64(at.Y))) }
	for _, c := range p {
		switch c.Type {
		case vg.MoveComp:
			b.WriteByte('M')
			point(c.Pos)
		case vg.LineComp:
			b.WriteByte('L')
			point(c.Pos)
		case vg.CurveComp:
			b.WriteByte('C')
			for _, at := range c.Control {
				point(at)
				b.WriteByte(' ')
			}
			point(c.Pos)
		case vg.CloseComp:
			b.WriteByte('Z')
		}
	}
	return b.String()
}

func rounded(v float64) float64 { return math.Round(v*100) / 100 }
