package scalp

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/topo"
)

// A panel is one map of a sheet.
type panel struct {
	row, view, column int
	field             *Field
	// ratio is how many errors the field is from zero, where the sheet has
	// a boundary; else nil.
	ratio *Field
	Extremes
	// departing lists the sites that depart from what the others predict.
	departing []topo.Departure
	// knowledge is the row's, and reach what follows from it in this view.
	knowledge *Knowledge
	reach     *Reach
	// flat says that all sites have the same value: nothing to interpolate,
	// and no contours.
	flat bool
	// frame is where it lies on the page, from the upper left corner, y
	// negative.
	frame Frame
}

// cells is how fine a grid is needed by the row with most sites.
func (s *Sheet) cells() int {
	many := slices.ContainsFunc(s.Rows, func(r Row) bool {
		sites, _ := r.Values.Dims()
		return sites > fewSites
	})
	switch {
	case s.creased() || many && (s.Quantity != topo.Potential || s.uncertain()):
		return manyCells
	case many:
		return someCells
	}
	return fewCells
}

// Grids are the nodes at which the sheet's views need their fields, view by
// view.
func (s *Sheet) Grids() []Grid {
	var list []Grid
	for _, v := range s.views() {
		list = append(list, newGrid(s.projection(v), s.cells()))
	}
	return list
}

// panels computes the maps row by row, and in a row view by view. Each spline
// is evaluated once a view. LeftOut is the root mean square, in µV, of what
// sites are mispredicted by where each is left out in turn.
func (s *Sheet) panels(grids []Grid) (panels []*panel, leftOut float64, err error) {
	known, err := s.Know()
	if err != nil {
		return nil, 0, err
	}
	reaches, err := s.Reaches(grids, known)
	if err != nil {
		return nil, 0, err
	}
	var splines []*topo.Spline
	rows := map[*topo.Spline][]int{}
	for i, r := range s.Rows {
		if rows[r.Spline] == nil {
			splines = append(splines, r.Spline)
		}
		rows[r.Spline] = append(rows[r.Spline], i)
	}
	panels = make([]*panel, len(s.Rows)*len(grids)*len(s.Columns))
	squares, residuals := 0., 0
	for _, spline := range splines {
		solved, err := s.solve(spline, rows[spline], known)
		if err != nil {
			return nil, 0, err
		}
		squares += solved.squares
		residuals += solved.residuals
		for view, g := range grids {
			var of []*panel
			for k, row := range solved.rows {
				for column := range s.Columns {
					of = append(of, &panel{row: row, view: view, column: column,
						departing: solved.departing[k*len(s.Columns)+column],
						knowledge: known[row], reach: reaches[row*len(grids)+view]})
				}
			}
			if err := s.fill(of, g, spline, solved.coefficients); err != nil {
				return nil, 0, err
			}
			for _, p := range of {
				panels[s.place(p.row, view, p.column)] = p
			}
		}
	}
	return panels, math.Sqrt(squares / float64(residuals)), nil
}

// place is where a map stands among all.
func (s *Sheet) place(row, view, column int) int {
	return (row*len(s.views())+view)*len(s.Columns) + column
}

// Know finds what each row's electrodes know: those that share a scale are
// judged alike.
func (s *Sheet) Know() ([]*Knowledge, error) {
	overhang := s.Overhang
	if overhang == 0 {
		overhang = topo.Overhang
	}
	known := make([]*Knowledge, len(s.Rows))
	for _, group := range s.scaleGroups() {
		var rows []Row
		for _, i := range group {
			rows = append(rows, s.Rows[i])
		}
		of, err := Know(rows, overhang)
		if err != nil {
			return nil, err
		}
		for k, i := range group {
			known[i] = of[k]
		}
	}
	return known, nil
}

// Reaches are those of each row, and in it of each view. Rows of the same
// territory share them.
func (s *Sheet) Reaches(grids []Grid, known []*Knowledge) ([]*Reach, error) {
	var list []*Reach
	for i, k := range known {
		same := slices.IndexFunc(known[:i], func(o *Knowledge) bool { return o.Territory == k.Territory })
		for view, g := range grids {
			if same >= 0 {
				list = append(list, list[same*len(grids)+view])
				continue
			}
			r, err := NewReach(g, s.Rows[i].Spline.Sites(), k)
			if err != nil {
				return nil, err
			}
			r.All = s.Extrapolate
			list = append(list, r)
		}
	}
	return list, nil
}

// flatten gives a map whose sites have one value that value at all points, free
// of rounding.
func (p *panel) flatten(r *Row, q topo.Quantity, values []float64) {
	v, same := r.constant(p.column)
	if !same {
		return
	}
	p.flat = true
	if q == topo.CurrentDensity {
		v = 0
	}
	for k := range values {
		values[k] = v
	}
}

// A solution is what rows that share a spline have in common: the coefficients
// of all their columns, beside each other, and what leaving sites out says of
// each.
type solution struct {
	rows         []int
	coefficients *mat.Dense
	departing    [][]topo.Departure
	squares      float64 // of what each site, left out, is mispredicted by, in µV²
	residuals    int     // how many there are
}

func (s *Sheet) solve(spline *topo.Spline, rows []int, known []*Knowledge) (solution, error) {
	out := solution{rows: rows}
	columns := len(s.Columns)
	for k, row := range rows {
		r := &s.Rows[row]
		c, err := spline.Solve(r.Values)
		if err != nil {
			return out, fmt.Errorf("row %d (%q): %w", row+1, r.Title, err)
		}
		residuals, err := spline.LeaveOneOut(c)
		if err != nil {
			return out, fmt.Errorf("row %d (%q): %w", row+1, r.Title, err)
		}
		norm := mat.Norm(residuals, 2)
		out.squares += norm * norm
		out.residuals += len(residuals.RawMatrix().Data)
		departing := make([][]topo.Departure, columns)
		if !s.Unringed && s.Statistic == "" {
			if departing, err = known[row].Departures(r.Values); err != nil {
				return out, fmt.Errorf("row %d (%q): %w", row+1, r.Title, err)
			}
		}
		out.departing = append(out.departing, departing...)
		height, _ := c.Dims()
		if out.coefficients == nil {
			out.coefficients = mat.NewDense(height, len(rows)*columns, nil)
		}
		out.coefficients.Slice(0, height, k*columns, (k+1)*columns).(*mat.Dense).Copy(c)
	}
	return out, nil
}

// fill interpolates the panels of all columns of the rows that share a spline,
// in one view.
func (s *Sheet) fill(panels []*panel, g Grid, spline *topo.Spline, coefficients *mat.Dense) error {
	values := evaluate(spline, panels[0].reach.points, s.Quantity, coefficients)
	ratios, err := s.sure(values, panels)
	if err != nil {
		return err
	}
	nodes := len(g.Directions)
	column := make([]float64, len(panels[0].reach.points))
	for i, p := range panels {
		mat.Col(column, i, values)
		for _, v := range column {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return fmt.Errorf("row %d (%q) at %s: values of this size cannot be interpolated",
					p.row+1, s.Rows[p.row].Title, s.Columns[p.column])
			}
		}
		if s.Shows == Amplitudes {
			p.flatten(&s.Rows[p.row], s.Quantity, column)
		}
		p.field = g.Field(column[:nodes])
		p.field.creased = s.creased()
		if ratios != nil {
			p.ratio = g.Field(mat.Col(nil, i, ratios)[:nodes])
		}
		p.Extremes = s.Extremes(column, p.column, p.knowledge, p.reach)
	}
	return nil
}

// evaluate multiplies the spline's basis by coefficients, block by block, so
// that the basis of many sites at many points is never in memory as a whole.
func evaluate(spline *topo.Spline, points []r3.Vec, q topo.Quantity, coefficients *mat.Dense) *mat.Dense {
	const block = 2048
	_, columns := coefficients.Dims()
	values := mat.NewDense(len(points), columns, nil)
	for first := 0; first < len(points); first += block {
		last := min(first+block, len(points))
		values.Slice(first, last, 0, columns).(*mat.Dense).Mul(spline.Basis(points[first:last], q),
			coefficients)
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

// contourSpacing is the longest piece of a contour line on the page.
const contourSpacing = .6 // pt

// contours of a panel: for every level, the limits included, since a clipped
// map goes on beyond them. A map that stays within a step of zero has nothing
// to show at this scale, and where it crosses zero is no exception. Nor is
// there a line at zero for current densities, which between weak sources and
// sinks follows the noise.
func (p *panel) contours(s Scale, zero bool) (levels []float64, lines [][]Line) {
	levels = p.levels(s, zero)
	return levels, p.along(levels, s.tolerance())
}

func (p *panel) levels(s Scale, zero bool) []float64 {
	if p.flat {
		return nil
	}
	return slices.DeleteFunc(s.Levels(), func(v float64) bool { return v == 0 && !(zero && p.reaches(s.Step)) })
}

// along is the lines of levels on the map.
func (p *panel) along(levels []float64, tolerance float64) [][]Line {
	return p.within(p.field.Contours(levels, p.refinement(), tolerance))
}

// within keeps of lines what lies on the map and where it has a field.
func (p *panel) within(lines [][]Line) [][]Line {
	for i := range lines {
		if view := p.frame.View; view.View != Top {
			lines[i] = clip(lines[i], view.inside)
		}
		lines[i] = p.reach.Keep(lines[i])
	}
	return lines
}

// refinement is how many parts of a cell's side lines are traced through.
func (p *panel) refinement() int {
	cell := p.field.step * float64(max(p.frame.Right, p.frame.Front))
	return min(max(int(math.Ceil(cell/contourSpacing)), 1), 4)
}

// reaches reports whether the map has a value as far from zero as v.
func (p *panel) reaches(v float64) bool {
	return p.Least <= -v || p.Greatest >= v
}
