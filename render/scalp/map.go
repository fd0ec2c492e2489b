package scalp

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/paper"
	"calotte/topo"
)

// A Map is the potential over the scalp at one instant, seen from above, for
// plots of gonum.org/v1/plot: alone, or as an inset among other data. It is
// round whatever the axes are, and drawn as the maps of a Sheet are in the form
// of Bands; the comment of the package says what hatching and rings mean. It is
// made of lines and areas only, which every back end of plot can draw, and has
// no text: say beside it what the reference is, and that left and right are the
// wearer's.
//
// A field that is zero has the default that stands beside it.
type Map struct {
	// Head gives the outline the head's proportions; the zero value is a
	// sphere.
	Head head.Ellipsoid

	// Levels are where bands and contours meet, in µV. Nil chooses even
	// steps up to the limit; what is within one step of zero is one band
	// then.
	Levels []float64

	// Limit is the value at both ends of the colours, in µV. Zero chooses
	// the map's largest magnitude, rounded outward by NiceLimit. Maps that
	// are compared need one limit.
	Limit float64

	// Palette is the family of colours; the zero value is Colour.
	Palette Palette

	// Marks are the electrodes that are drawn, as in a Row. Nil draws each
	// site as measured; an empty list draws none.
	Marks []Mark

	// X and Y are the middle of an inset in the plot's data coordinates.
	X, Y float64

	// Radius is the longer half-axis of an inset on the paper, without the
	// nose. Zero is no inset: the map fills the plot and leaves the axes as
	// they are.
	Radius vg.Length

	sites []layout.Site
	row   Row
}

var (
	_ plot.Plotter    = (*Map)(nil)
	_ plot.DataRanger = (*Map)(nil)
	_ plot.GlyphBoxer = (*Map)(nil)
)

// NewMap interpolates potentials in µV, one for each site, by the spherical
// spline. It refuses fewer than four sites, sites without a direction from the
// head's centre or with the same one, and values that are not finite.
func NewMap(sites []layout.Site, microvolts []float64) (*Map, error) {
	if len(microvolts) != len(sites) {
		return nil, fmt.Errorf("%d values for %d sites: give one for each", len(microvolts), len(sites))
	}
	spline, err := topo.New(sites, topo.Options{Radius: 89.1}) // potentials do not depend on it
	if err != nil {
		return nil, err
	}
	values := mat.NewDense(len(sites), 1, slices.Clone(microvolts))
	if _, err := spline.Solve(values); err != nil {
		return nil, err
	}
	return &Map{sites: slices.Clone(sites), row: Row{Spline: spline, Values: values}}, nil
}

// A mapChart is what a Map shows before it has a place on paper.
type mapChart struct {
	*panel
	grid     Grid
	marks    []Mark
	scale    Scale
	layers   layers
	contours []float64
}

// chart computes the map as a sheet of its own.
func (m *Map) chart() (*mapChart, error) {
	row := m.row
	if row.Marks = m.Marks; row.Marks == nil {
		row.Marks = MeasuredAt(m.sites)
	}
	s := &Sheet{Rows: []Row{row}, Columns: []string{""}, Head: m.Head, Palette: m.Palette, Limit: m.Limit}
	if err := row.validate(s.Columns); err != nil {
		return nil, err
	}
	grids := s.Grids()
	panels, _, err := s.panels(grids)
	if err != nil {
		return nil, err
	}
	scales, _ := s.measureScales(grids, panels)
	c := &mapChart{panel: panels[0], grid: grids[0], marks: row.Marks, scale: scales[0]}
	colour := c.scale.colour(s.colours())
	if m.Levels == nil {
		c.contours, c.layers = c.levels(c.scale, true), c.scale.layers(colour)
		return c, nil
	}
	levels := slices.Compact(slices.Sorted(slices.Values(m.Levels)))
	for i := 1; i < len(levels); i++ {
		c.scale.Step = min(c.scale.Step, levels[i]-levels[i-1])
	}
	c.layers = newLayers(levels, c.scale.Limit, colour)
	if !c.flat {
		c.contours = levels
	}
	return c, nil
}

// drawn is the map, or a panic where a field was set to what cannot be drawn.
func (m *Map) drawn() *mapChart {
	c, err := m.chart()
	if err != nil {
		panic(fmt.Sprintf("scalp: Map: %v", err))
	}
	return c
}

// Plot draws the map. It panics where Marks do not belong to the map's sites.
func (m *Map) Plot(c draw.Canvas, p *plot.Plot) {
	chart, at := m.drawn(), m.frame(c, p)
	middle := at.Center
	at.Center = vg.Point{}
	chart.frame = at
	support := chart.marks
	if len(support) == 0 { // not drawn, but there
		support = MeasuredAt(m.sites)
	}
	f := newFurniture(at, chart.reach, markSpacing(support), false)
	f.marks = chart.marks
	q := picture{
		bands:  chart.bands(at, at.View.territory(false), chart.layers, chart.scale.tolerance()),
		levels: chart.contours,
		rings:  chart.rings(at, chart.marks, f.radius),
	}
	for _, lines := range chart.along(chart.contours, chart.scale.tolerance()) {
		q.contours = append(q.contours, at.path(lines))
	}
	c.Push()
	c.Translate(middle)
	f.draw(c, q)
	c.Pop()
}

// frame is where the map lies on a canvas.
func (m *Map) frame(c draw.Canvas, p *plot.Plot) Frame {
	at := Frame{View: TopView(m.Head)}
	if m.Radius > 0 {
		x, y := p.Transforms(&c)
		at.Center = vg.Point{X: x(m.X), Y: y(m.Y)}
		return at.sized(m.Radius)
	}
	// Ticks keep their length, and all else grows with the radius.
	unit := at.sized(1)
	size := c.Size()
	at = at.sized(max(0, min(
		(size.X-2*mapMargin)/(2*unit.Right),
		(size.Y-2*mapMargin)/(unit.Front*(2+NoseHeight)))))
	extent := at.extent()
	at.Center = c.Center().Sub(extent.Min.Add(extent.Max).Scale(.5))
	return at
}

// mapMargin is what stands out from a map's edge: ticks, and half of a line.
const mapMargin = paper.TickLength + 1

// sized is a frame with a longer half-axis.
func (f Frame) sized(radius vg.Length) Frame {
	f.Right, f.Front = vg.Length(f.View.Right)*radius, vg.Length(f.View.Front)*radius
	return f
}

// extent is how far a map and its furniture go from its middle.
func (f Frame) extent() vg.Rectangle {
	return vg.Rectangle{
		Min: vg.Point{X: -f.Right - mapMargin, Y: -f.Front - mapMargin},
		Max: vg.Point{X: f.Right + mapMargin, Y: f.Front*(1+NoseHeight) + mapMargin},
	}
}

// DataRange is the middle of an inset, and empty for a map that fills the plot.
func (m *Map) DataRange() (xmin, xmax, ymin, ymax float64) {
	if !(m.Radius > 0) {
		return math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	}
	return m.X, m.X, m.Y, m.Y
}

// GlyphBoxes keeps an inset inside the plot.
func (m *Map) GlyphBoxes(p *plot.Plot) []plot.GlyphBox {
	if !(m.Radius > 0) {
		return nil
	}
	at := Frame{View: TopView(m.Head)}.sized(m.Radius)
	return []plot.GlyphBox{{X: p.X.Norm(m.X), Y: p.Y.Norm(m.Y), Rectangle: at.extent()}}
}
