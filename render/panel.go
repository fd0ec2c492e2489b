package render

import (
	"fmt"
	"math"
	"runtime"

	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/topo"
)

// A panel is one map of a sheet.
type panel struct {
	row, column int
	field       *Field
	// least and greatest are the extremes of the field inside the map.
	least, greatest float64
	// doubtful lists the sites that the other sites contradict.
	doubtful []int
	// flat says that all sites have the same value: nothing to interpolate, and
	// no contours.
	flat bool
	// frame is where it lies on the page, from the upper left corner, y negative.
	frame frame
}

// grid is fine enough for the row with most sites.
func (s *Sheet) grid() grid {
	cells := fewCells
	for i := range s.Rows {
		if sites, _ := s.Rows[i].Values.Dims(); sites > fewSites {
			cells = manyCells
		}
	}
	return newGrid(TopView(s.Head), cells)
}

// panels computes the maps row by row. Each spline is evaluated once.
func (s *Sheet) panels(g grid) ([]*panel, error) {
	var splines []*topo.Spline
	rows := map[*topo.Spline][]int{}
	for i, r := range s.Rows {
		if rows[r.Spline] == nil {
			splines = append(splines, r.Spline)
		}
		rows[r.Spline] = append(rows[r.Spline], i)
	}
	columns := len(s.Columns)
	panels := make([]*panel, len(s.Rows)*columns)
	for _, spline := range splines {
		of, err := s.panelsOf(g, spline, rows[spline])
		if err != nil {
			return nil, err
		}
		for _, p := range of {
			if !s.T {
				p.flatten(&s.Rows[p.row], s.Quantity)
			}
			p.least, p.greatest = p.field.extremes(g)
			panels[p.row*columns+p.column] = p
		}
	}
	return panels, nil
}

// flatten gives a map whose sites have one value that value everywhere, free of
// rounding.
func (p *panel) flatten(r *Row, q topo.Quantity) {
	v, same := r.constant(p.column)
	if !same {
		return
	}
	p.flat = true
	if q == topo.CurrentDensity {
		v = 0
	}
	for k := range p.field.values {
		p.field.values[k] = v
	}
}

// panelsOf interpolates all columns of the rows that share a spline.
func (s *Sheet) panelsOf(g grid, spline *topo.Spline, rows []int) ([]*panel, error) {
	columns := len(s.Columns)
	var panels []*panel
	var all *mat.Dense
	for k, row := range rows {
		r := &s.Rows[row]
		c, err := spline.Solve(r.Values)
		if err != nil {
			return nil, fmt.Errorf("row %d (%q): %w", row+1, r.Title, err)
		}
		doubtful, err := doubts(spline, c, r.Values)
		if err != nil {
			return nil, fmt.Errorf("row %d (%q): %w", row+1, r.Title, err)
		}
		height, _ := c.Dims()
		if all == nil {
			all = mat.NewDense(height, len(rows)*columns, nil)
		}
		all.Slice(0, height, k*columns, (k+1)*columns).(*mat.Dense).Copy(c)
		for column := range columns {
			panels = append(panels, &panel{row: row, column: column, doubtful: doubtful[column]})
		}
	}
	values := evaluate(spline, g.directions, s.Quantity, all)
	if s.T {
		if err := s.overErrors(values, spline, g.directions, panels); err != nil {
			return nil, err
		}
	}
	column := make([]float64, len(g.directions))
	for i, p := range panels {
		mat.Col(column, i, values)
		for _, v := range column {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("row %d (%q) at %s: values of this size cannot be interpolated", p.row+1, s.Rows[p.row].Title, s.Columns[p.column])
			}
		}
		p.field = g.field(column)
	}
	return panels, nil
}

// evaluate multiplies the spline's basis by coefficients, block by block, so
// that the basis of many sites at many points is never in memory as a whole.
func evaluate(spline *topo.Spline, points []r3.Vec, q topo.Quantity, coefficients *mat.Dense) *mat.Dense {
	const block = 2048
	_, columns := coefficients.Dims()
	values := mat.NewDense(len(points), columns, nil)
	for first := 0; first < len(points); first += block {
		last := min(first+block, len(points))
		values.Slice(first, last, 0, columns).(*mat.Dense).Mul(spline.Basis(points[first:last], q), coefficients)
	}
	return values
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
		scale.Least, scale.Greatest = min(scale.Least, p.least), max(scale.Greatest, p.greatest)
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

// contours of a panel: for every level, the limits included, since a clipped map
// goes on beyond them. A map that stays within a step of zero has nothing to
// show at this scale, and where it crosses zero is no exception. Nor is there a
// line at zero for current densities, which between weak sources and sinks
// follows the noise.
func (p *panel) contours(s Scale, q topo.Quantity) (levels []float64, lines [][]Line) {
	if p.flat {
		return nil, nil
	}
	for _, v := range s.Levels() {
		if v != 0 || q == topo.Potential && p.reaches(s.Step) {
			levels = append(levels, v)
		}
	}
	cell := p.field.step * float64(max(p.frame.right, p.frame.front))
	refine := min(max(int(math.Ceil(cell/contourSpacing)), 1), 4)
	return levels, p.field.Contours(levels, refine, 1e-4*s.Step)
}

// reaches reports whether the map has a value as far from zero as v.
func (p *panel) reaches(v float64) bool {
	return p.least <= -v || p.greatest >= v
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
