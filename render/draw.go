package render

import (
	"fmt"
	"image"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/render/canvas"
	"calotte/render/palette"
)

// vertexSite is a site in the middle of any map.
var vertexSite = layout.Site{Position: r3.Vec{Z: 1}}

// Draw draws the plate.
func (p *Plate) Draw(c canvas.Canvas) {
	table := newColorTable(palette.Diverging.At)
	c.Push()
	defer c.Pop()
	c.Translate(vg.Point{Y: p.page.height})

	pictures := make([]picture, len(p.panels))
	each(len(p.panels), func(i int) { pictures[i] = p.picture(p.panels[i], table) })
	for i, m := range p.panels {
		c.Group(fmt.Sprintf("map-%d-%d", m.row+1, m.column+1), p.panelName(m))
		c.Push()
		c.Translate(m.frame.center)
		p.furniture[m.row].draw(c, pictures[i])
		c.Pop()
		c.End()
	}
	c.Group("legend", "Legend")
	p.drawBar(c, table)
	p.drawSamples(c)
	c.End()
	c.SetColor(ink)
	for _, t := range p.page.texts {
		t.draw(c)
	}
}

// A picture is what differs from map to map, about the origin.
type picture struct {
	image    *image.RGBA
	covers   vg.Rectangle
	levels   []float64
	contours []vg.Path
	rings    vg.Path
}

func (p *Plate) picture(m *panel, table colorTable) picture {
	at := m.frame
	at.center = vg.Point{}
	img, covers := m.field.raster(at, p.Scale.Limit, table)
	levels, lines := m.contours(p.Scale, p.sheet.Quantity)
	paths := make([]vg.Path, len(lines))
	for i := range lines {
		paths[i] = at.path(lines[i])
	}
	f := p.furniture[m.row]
	return picture{image: img, covers: covers, levels: levels, contours: paths, rings: m.rings(at, f.marks, f.radius)}
}

// path lays contour lines on the page.
func (f frame) path(lines []Line) vg.Path {
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
	strokePath(c, p, faded(opacity), width)
	c.SetLineDash(nil, 0)
}

// furniture is what all maps of a row have in common, about the origin.
type furniture struct {
	hatch, graticule, ticks, outline vg.Path
	frame                            frame
	marks                            []Mark
	radius                           vg.Length
	labels                           []textLine
}

func (p *Plate) furnish(row int) furniture {
	at := p.panels[row*len(p.sheet.Columns)].frame
	at.center = vg.Point{}
	f := furniture{
		hatch:     p.reaches[row].hatch(at),
		graticule: at.graticule(),
		ticks:     at.landmarkTicks(tickLength),
		outline:   at.outline(),
		frame:     at,
		marks:     p.sheet.Rows[row].Marks,
		radius:    1,
	}
	if r := p.reaches[row]; r != nil {
		f.radius = markRadius(vg.Length(r.spacing/edgeColatitude) * min(at.right, at.front))
	}
	if p.sheet.Labels {
		f.labels = siteLabels(at, f.marks, f.radius, p.page.letters)
	}
	return f
}

// draw draws a whole map: colours, then lines, then marks.
func (f furniture) draw(c canvas.Canvas, q picture) {
	c.DrawImage(q.covers, q.image)
	c.SetLineDash(nil, 0)
	drawHatch(c, f.hatch)
	strokePath(c, f.graticule, faded(.3), .35)
	for i, level := range q.levels {
		strokeContour(c, q.contours[i], level)
	}
	strokePath(c, f.ticks, ink, .6)
	drawMarks(c, f.frame, f.marks, f.radius)
	drawRings(c, q.rings)
	strokePath(c, f.outline, ink, outlineWidth(f.frame))
	drawSiteLabels(c, f.labels)
}

// outlineWidth grows with the map from .7 to 1.1 pt.
func outlineWidth(f frame) vg.Length {
	return vg.Length(min(max(.6+float64(f.right)/200, .7), 1.1))
}

func drawHatch(c vg.Canvas, p vg.Path) {
	strokePath(c, p, faded(.5), .35)
}
