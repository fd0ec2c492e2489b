package chart

import (
	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/paper"
)

// legend sets the names of curves beside room for samples of them, and returns
// where these begin.
func (p *chartPage) legend(names []string) []vg.Point {
	if len(names) == 0 {
		return nil
	}
	var samples []vg.Point
	x := paper.Margin
	p.y += paper.LineHeight
	for _, name := range names {
		width := 2.4*paper.Swatch + paper.Width(name) + 2*paper.TextSize
		if x > paper.Margin && x+width > p.width-paper.Margin {
			p.y += paper.LineHeight
			x = paper.Margin
		}
		samples = append(samples, vg.Point{X: x, Y: -(p.y - paper.Descent - paper.TextSize*.35)})
		p.texts = append(p.texts,
			paper.Line{Text: name, At: vg.Point{X: x + 2.4*paper.Swatch, Y: -(p.y - paper.Descent)}})
		x += width
	}
	p.y += 2
	return samples
}

// drawSamples draws the curves' samples in the legend.
func drawSamples(c canvas.Canvas, samples []vg.Point, styles []Stroke) {
	for i, at := range samples {
		c.SetLineDash(styles[i].Dash, 0)
		paper.Stroke(c, paper.Straight(at, vg.Point{X: at.X + 2*paper.Swatch, Y: at.Y}), styles[i].Colour, 1.2)
		c.SetLineDash(nil, 0)
	}
}
