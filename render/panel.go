package render

import (
	"fmt"
	"math"
	"runtime"

	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"

	"calotte/topo"
)

// A panel is one map of a sheet.
type panel struct {
	row, column int
	field       *Field
	// flat says that all sites have the same value: nothing to interpolate, and
	// no contours.
	flat bool
	// frame is where it lies on the page, from the upper left corner, y negative.
	frame frame
}

// panels computes the maps row by row. Each spline is evaluated once.
func (s *Sheet) panels(g grid) ([]*panel, error) {
	bases := map[*topo.Spline]*mat.Dense{}
	var panels []*panel
	for i := range s.Rows {
		r := &s.Rows[i]
		basis, ok := bases[r.Spline]
		if !ok {
			basis = r.Spline.Basis(g.directions, s.Quantity)
			bases[r.Spline] = basis
		}
		fields, err := r.fields(g, basis)
		if err != nil {
			return nil, fmt.Errorf("row %d (%q): %w", i+1, r.Title, err)
		}
		for column, f := range fields {
			p := &panel{row: i, column: column, field: f}
			if v, same := r.constant(column); same {
				p.flat = true
				if s.Quantity == topo.CurrentDensity {
					v = 0
				}
				for k := range f.values {
					f.values[k] = v
				}
			}
			panels = append(panels, p)
		}
	}
	return panels, nil
}

// fields interpolates every column of a row on the grid.
func (r *Row) fields(g grid, basis *mat.Dense) ([]*Field, error) {
	coefficients, err := r.Spline.Solve(r.Values)
	if err != nil {
		return nil, err
	}
	var values mat.Dense
	values.Mul(basis, coefficients)
	points, columns := values.Dims()
	fields := make([]*Field, columns)
	column := make([]float64, points)
	for i := range fields {
		mat.Col(column, i, &values)
		for _, v := range column {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("the map of column %d is not finite between the sites: values of this size cannot be interpolated", i+1)
			}
		}
		fields[i] = g.field(column)
	}
	return fields, nil
}

// constant reports whether all sites have one value in a column, but for
// rounding.
func (r *Row) constant(column int) (value float64, same bool) {
	sites, _ := r.Values.Dims()
	value = r.Values.At(0, column)
	for site := range sites {
		if math.Abs(r.Values.At(site, column)-value) > 1e-12*math.Abs(value) {
			return 0, false
		}
	}
	return value, true
}

// measure finds the extremes of all panels, the limit where none is given, and
// what it clips.
func (s *Sheet) measure(g grid, panels []*panel) Scale {
	scale := Scale{Limit: s.Limit, Least: math.Inf(1), Greatest: math.Inf(-1)}
	for _, p := range panels {
		least, greatest := p.field.extremes(g)
		scale.Least, scale.Greatest = min(scale.Least, least), max(scale.Greatest, greatest)
	}
	if scale.Limit == 0 {
		scale.Limit = NiceLimit(max(-scale.Least, scale.Greatest))
	}
	scale.Step = ContourStep(scale.Limit, s.StandardError)
	inside, clipped := 0, 0
	for _, p := range panels {
		for _, node := range g.nodes {
			if g.disc(node) {
				inside++
				if math.Abs(p.field.values[node]) > scale.Limit {
					clipped++
				}
			}
		}
	}
	scale.Clipped = float64(clipped) / float64(inside)
	return scale
}

// contourSpacing is the longest piece of a contour line on the page.
const contourSpacing = .6 // pt

// contours of a panel: for every tick strictly inside the limits.
func (p *panel) contours(s Scale) (levels []float64, lines [][]Line) {
	if p.flat {
		return nil, nil
	}
	ticks := s.Ticks()
	levels = ticks[1 : len(ticks)-1]
	cell := coarseStep * float64(max(p.frame.right, p.frame.front))
	refine := min(max(int(math.Ceil(cell/contourSpacing)), 1), 4)
	return levels, p.field.Contours(levels, refine, 1e-4*s.Step)
}

// each runs work on all panels, as many at a time as there are processors. The
// result does not depend on their order: each writes to its own place.
func each(n int, work func(i int)) {
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i := range n {
		group.Go(func() error {
			work(i)
			return nil
		})
	}
	group.Wait()
}

// disc reports whether a node lies inside the map.
func (g grid) disc(node int) bool {
	return r2.Norm2(r2.Vec{X: coarseCoordinate(node % coarseSide), Y: coarseCoordinate(node / coarseSide)}) <= 1
}
