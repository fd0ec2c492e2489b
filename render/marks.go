package render

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
)

// markRadius is the size of an electrode's mark where neighbours are spacing
// apart on the page.
func markRadius(spacing vg.Length) vg.Length {
	return min(max(.15*spacing, .3), 1.1)
}

// drawMarks draws the electrodes: filled where measured, open where repaired,
// crossed where left out. A pale rim parts them from dark colours.
func drawMarks(c vg.Canvas, at frame, marks []Mark, radius vg.Length) {
	var measured, rims, repaired, crosses vg.Path
	for _, m := range marks {
		p := at.project(m.Site.Position)
		switch m.Kind {
		case Measured:
			circle(&measured, p, radius)
			circle(&rims, p, radius+.35*min(radius, 1))
		case Repaired:
			circle(&repaired, p, 1.5*radius)
		case LeftOut:
			cross(&crosses, p, 1.8*radius)
		}
	}
	c.SetLineDash(nil, 0)
	fillPath(c, rims, pale)
	fillPath(c, measured, ink)
	fillPath(c, repaired, color.White)
	strokePath(c, repaired, ink, .6*min(radius, .9))
	strokePath(c, crosses, pale, 1.6*radius)
	strokePath(c, crosses, ink, .8*radius)
}

// drawChosen draws the electrodes that a table singles out: a diamond, dark with a pale
// heart, twice the size of a mark.
func drawChosen(c vg.Canvas, at []vg.Point, radius vg.Length) {
	var rims, stones, hearts vg.Path
	for _, p := range at {
		half := 2.1*radius + .3
		diamond(&rims, p, half+.45*min(radius+.2, 1))
		diamond(&stones, p, half)
		diamond(&hearts, p, .45*half)
	}
	c.SetLineDash(nil, 0)
	fillPath(c, rims, pale)
	fillPath(c, stones, ink)
	fillPath(c, hearts, pale)
}

func diamond(p *vg.Path, at vg.Point, half vg.Length) {
	p.Move(vg.Point{X: at.X + half, Y: at.Y})
	p.Line(vg.Point{X: at.X, Y: at.Y + half})
	p.Line(vg.Point{X: at.X - half, Y: at.Y})
	p.Line(vg.Point{X: at.X, Y: at.Y - half})
	p.Close()
}

func circle(p *vg.Path, at vg.Point, radius vg.Length) {
	p.Move(vg.Point{X: at.X + radius, Y: at.Y})
	p.Arc(at, radius, 0, 2*math.Pi)
	p.Close()
}

func cross(p *vg.Path, at vg.Point, half vg.Length) {
	for _, slope := range []vg.Length{1, -1} {
		p.Move(at.Sub(vg.Point{X: half, Y: slope * half}))
		p.Line(at.Add(vg.Point{X: half, Y: slope * half}))
	}
}

func fillPath(c vg.Canvas, p vg.Path, colour color.Color) {
	if len(p) > 0 {
		c.SetColor(colour)
		c.Fill(p)
	}
}

func strokePath(c vg.Canvas, p vg.Path, colour color.Color, width vg.Length) {
	if len(p) > 0 {
		c.SetColor(colour)
		c.SetLineWidth(width)
		c.Stroke(p)
	}
}
