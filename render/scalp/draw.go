package scalp

import (
	"fmt"
	"image"
	"image/color"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/render/canvas"
	"calotte/render/internal/parallel"
	"calotte/render/palette"
	"calotte/render/paper"
)

// vertexSite is a site in the middle of any map.
var vertexSite = layout.Site{Position: r3.Vec{Z: 1}}

// Draw draws the plate.
func (p *Plate) Draw(c canvas.Canvas) {
	table := p.sheet.colours()
	c.Push()
	defer c.Pop()
	c.Translate(vg.Point{Y: p.page.Height})

	pictures := make([]picture, len(p.panels))
	element := finest(c)
	parallel.Each(len(p.panels), func(i int) { pictures[i] = p.picture(p.panels[i], table, element) })
	for i, m := range p.panels {
		c.Group(p.panelID(m), p.panelName(m))
		c.Push()
		c.Translate(m.frame.Center)
		p.furniture[p.lot(m)].draw(c, pictures[i])
		c.Pop()
		c.End()
	}
	c.Group("legend", "Legend")
	for i := range p.Scales {
		p.drawBar(c, i, table)
	}
	p.drawSamples(c)
	c.End()
	c.SetColor(paper.Ink)
	for _, t := range p.page.Texts {
		t.Draw(c)
	}
}

// panelID names a map's group: its row, its column, and its view where there
// are several.
func (p *Plate) panelID(m *panel) string {
	id := fmt.Sprintf("map-%d-%d", m.row+1, m.column+1)
	if views := p.sheet.views(); len(views) > 1 {
		id += "-" + views[m.view].String()
	}
	return id
}

// lot is the number of the furniture of a map.
func (p *Plate) lot(m *panel) int { return m.row*len(p.sheet.views()) + m.view }

// A picture is what differs from map to map, about the origin.
type picture struct {
	image    *image.RGBA // nil where there are bands
	covers   vg.Rectangle
	bands    []fill
	levels   []float64
	contours []vg.Path
	rings    vg.Path
	boundary vg.Path
	stipple  vg.Path
	chosen   []vg.Point
}

func (p *Plate) picture(m *panel, table palette.Table, element vg.Length) picture {
	at, scale, f := m.frame, p.scale(m), p.furniture[p.lot(m)]
	at.Center = vg.Point{}
	if p.sheet.Pale != nil && p.sheet.Pale[m.column] {
		table = table.Pale()
	}
	paint := newPainter(table, scale)
	paint.pixel = element
	half := p.sheet.Rows[m.row].RightHalf
	q := picture{rings: m.rings(at, p.sheet.Rows[m.row].Marks, f.radius)}
	if m.ratio != nil {
		q.boundary, q.stipple = m.boundary(at, p.sheet.Boundary.Errors, half)
	}
	switch {
	case p.sheet.Form == Bands:
		q.bands = m.bands(at, at.View.territory(half), scale.layers(scale.colour(table)), scale.tolerance())
	default:
		q.image, q.covers = m.field.raster(at, paint)
		if half {
			clearLeft(q.image)
		}
	}
	levels, lines := m.contours(scale, p.sheet.zeroDrawn())
	q.levels = levels
	if half {
		for i := range lines {
			lines[i] = clip(lines[i], onRight)
		}
	}
	for i := range lines {
		q.contours = append(q.contours, at.path(lines[i]))
	}
	row := &p.sheet.Rows[m.row]
	if row.Chosen != nil {
		for _, i := range row.Chosen[m.column] {
			if site := row.Marks[i].Site; at.View.Visible(site.Position) {
				q.chosen = append(q.chosen, at.Project(site.Position))
			}
		}
	}
	return q
}

func onRight(p r2.Vec) float64 { return p.X }

// clearLeft empties the left half of an image.
func clearLeft(img *image.RGBA) {
	width := img.Rect.Dx() / 2 * 4
	for y := range img.Rect.Dy() {
		clear(img.Pix[y*img.Stride:][:width])
	}
}

// rightOf keeps the strokes that begin right of a place.
func rightOf(p vg.Path, x vg.Length) vg.Path {
	var kept vg.Path
	keep := false
	for _, c := range p {
		if c.Type == vg.MoveComp {
			keep = c.Pos.X >= x
		}
		if keep {
			kept = append(kept, c)
		}
	}
	return kept
}

// path lays contour lines on the page.
func (f Frame) path(lines []Line) vg.Path {
	var p vg.Path
	for _, line := range lines {
		for i, v := range line.Points {
			if i == 0 {
				p.Move(f.point(v))
			} else {
				p.Line(f.point(v))
			}
		}
		if line.Closed {
			p.Close()
		}
	}
	return p
}

// strokeContour draws one level: positive solid, negative dashed, zero grey.
// Where zero lies is up to the reference, so its line is not the strongest.
func strokeContour(c vg.Canvas, p vg.Path, level float64) {
	width, opacity := vg.Length(.45), .8
	switch {
	case level == 0:
		width, opacity = .8, .35
	case level < 0:
		c.SetLineDash([]vg.Length{2, 1.2}, 0)
	}
	paper.Stroke(c, p, paper.Faded(opacity), width)
	c.SetLineDash(nil, 0)
}

// furniture is what all maps of a row have in common, about the origin.
type furniture struct {
	paper, edge, hatch, graticule, ticks, outline, face vg.Path
	frame                                               Frame
	marks                                               []Mark
	radius                                              vg.Length
	labels                                              []paper.Line
}

func (p *Plate) furnish(lot int) furniture {
	views, columns := len(p.sheet.views()), len(p.sheet.Columns)
	at := p.panels[lot*columns].frame
	at.Center = vg.Point{}
	row := &p.sheet.Rows[lot/views]
	half := row.RightHalf
	f := newFurniture(at, p.panels[lot*columns].reach, markSpacing(row.Marks), half)
	f.face = at.face(p.page.letters)
	if half {
		f.hatch = rightOf(f.hatch, at.Center.X)
	}
	for _, m := range row.Marks {
		if at.View.Visible(m.Site.Position) && !(half && m.Site.Position.X < -1e-9) {
			f.marks = append(f.marks, m)
		}
	}
	if p.sheet.Labels {
		f.labels = siteLabels(at, f.marks, f.radius, p.page.letters)
	}
	return f
}

// newFurniture has neither face nor marks.
func newFurniture(at Frame, r *Reach, spacing float64, half bool) furniture {
	return furniture{
		paper:     r.Paper(at, half),
		edge:      r.Edge(at, half),
		hatch:     r.Hatch(at),
		graticule: at.Graticule(),
		ticks:     at.LandmarkTicks(paper.TickLength),
		outline:   at.Outline(),
		frame:     at,
		radius:    at.markRadius(spacing),
	}
}

// markRadius is that of marks a median angle apart, in radians.
func (f Frame) markRadius(spacing float64) vg.Length {
	if math.IsNaN(spacing) {
		return 1
	}
	return MarkRadius(vg.Length(spacing/EdgeColatitude) * min(f.Right, f.Front))
}

// draw draws a whole map: colours, then lines, then marks.
func (f furniture) draw(c vg.Canvas, q picture) {
	if q.image != nil {
		c.DrawImage(q.covers, q.image)
	}
	for _, b := range q.bands {
		paper.Fill(c, b.path, b.colour)
	}
	c.SetLineDash(nil, 0)
	paper.Fill(c, f.paper, color.White)
	paper.Stroke(c, f.edge, paper.Faded(.5), .35)
	drawHatch(c, f.hatch)
	paper.Stroke(c, f.graticule, paper.Faded(.3), .35)
	paper.Fill(c, q.stipple, paper.Faded(.75))
	for i, level := range q.levels {
		strokeContour(c, q.contours[i], level)
	}
	strokeBoundary(c, q.boundary)
	paper.Stroke(c, f.ticks, paper.Ink, .6)
	drawMarks(c, f.frame, f.marks, f.radius)
	drawChosen(c, q.chosen, f.radius)
	drawRings(c, q.rings)
	paper.Stroke(c, f.face, paper.Faded(.6), .5)
	paper.Stroke(c, f.outline, paper.Ink, OutlineWidth(f.frame))
	drawSiteLabels(c, f.labels)
}

// OutlineWidth grows with the map from .7 to 1.1 pt.
func OutlineWidth(f Frame) vg.Length {
	return vg.Length(min(max(.6+float64(f.Right)/200, .7), 1.1))
}

func drawHatch(c vg.Canvas, p vg.Path) {
	paper.Stroke(c, p, paper.Faded(.5), .35)
}
