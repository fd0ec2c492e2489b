package scalp

import (
	"image/color"

	"gonum.org/v1/plot/vg"

	"calotte/render/paper"
)

// MarkRadius is the size of an electrode's mark where neighbours are spacing
// apart on the page.
func MarkRadius(spacing vg.Length) vg.Length {
	return min(max(.15*spacing, .3), 1.1)
}

// drawMarks draws the electrodes: filled where measured, open where repaired,
// crossed where left out. A pale rim parts them from dark colours.
func drawMarks(c vg.Canvas, at Frame, marks []Mark, radius vg.Length) {
	var measured, rims, repaired, crosses vg.Path
	for _, m := range marks {
		p := at.Project(m.Site.Position)
		switch m.Kind {
		case Measured:
			paper.Circle(&measured, p, radius)
			paper.Circle(&rims, p, radius+.35*min(radius, 1))
		case Repaired:
			paper.Circle(&repaired, p, 1.5*radius)
		case LeftOut:
			paper.Cross(&crosses, p, 1.8*radius)
		}
	}
	c.SetLineDash(nil, 0)
	paper.Fill(c, rims, paper.Pale)
	paper.Fill(c, measured, paper.Ink)
	paper.Fill(c, repaired, color.White)
	paper.Stroke(c, repaired, paper.Ink, .6*min(radius, .9))
	paper.Stroke(c, crosses, paper.Pale, 1.6*radius)
	paper.Stroke(c, crosses, paper.Ink, .8*radius)
}

// drawChosen draws the electrodes that a table singles out: a diamond, dark
// with a pale heart, twice the size of a mark.
func drawChosen(c vg.Canvas, at []vg.Point, radius vg.Length) {
	var rims, stones, hearts vg.Path
	for _, p := range at {
		half := 2.1*radius + .3
		diamond(&rims, p, half+.45*min(radius+.2, 1))
		diamond(&stones, p, half)
		diamond(&hearts, p, .45*half)
	}
	c.SetLineDash(nil, 0)
	paper.Fill(c, rims, paper.Pale)
	paper.Fill(c, stones, paper.Ink)
	paper.Fill(c, hearts, paper.Pale)
}

func diamond(p *vg.Path, at vg.Point, half vg.Length) {
	p.Move(vg.Point{X: at.X + half, Y: at.Y})
	p.Line(vg.Point{X: at.X, Y: at.Y + half})
	p.Line(vg.Point{X: at.X - half, Y: at.Y})
	p.Line(vg.Point{X: at.X, Y: at.Y - half})
	p.Close()
}
