package chart

import (
	"fmt"
	"image/color"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/palette"
	"calotte/render/paper"
)

// strokes are how curves are drawn, in order: each colour has a line style of
// its own.
func strokes() []Stroke {
	var list []Stroke
	for i, c := range palette.Categories() {
		list = append(list, Stroke{c, CurveDash(i)})
	}
	return list
}

var curveDashes = [...][]vg.Length{nil, {4, 1.5}, {1.2, 1.2}, {6, 1.5, 1.2, 1.5}, {2.5, 1.2}, {8, 2}}

// veil is a colour through which bands below it show.
func veil(c color.Color) color.NRGBA {
	v := color.NRGBAModel.Convert(c).(color.NRGBA)
	v.A = 46
	return v
}

// Draw draws the panels.
func (p *TracesPlate) Draw(c canvas.Canvas) {
	p.page.onPage(c, func() {
		styles := strokes()
		drawSamples(c, p.legend, styles)
		for k := range p.charts {
			c.Group(fmt.Sprintf("panel-%d", k+1), p.traces.Panels[k].Title)
			p.drawPanel(c, &p.charts[k], &p.traces.Panels[k], styles)
			c.End()
		}
		if p.traces.Places != nil {
			p.drawKey(c)
		}
		if p.maps != nil {
			p.drawMaps(c)
		}
	})
}

func (p *TracesPlate) drawPanel(c canvas.Canvas, at *Chart, panel *TracePanel, styles []Stroke) {
	if b := p.traces.Baseline; b != nil {
		edge := []float64{1000 * b[0], 1000 * b[1]}
		at.band(c, edge, []float64{at.Y.Low, at.Y.Low}, []float64{at.Y.High, at.Y.High}, paper.Faded(.06))
	}
	if at.X.Low < 0 && at.X.High > 0 {
		paper.Stroke(c, paper.Straight(at.Point(0, at.Y.Low), at.Point(0, at.Y.High)), paper.Faded(.5), .5)
	}
	for _, row := range panel.Faint {
		at.Curve(c, p.millis, row, Stroke{Colour: paper.Faded(.25)})
	}
	for k, trace := range panel.Curves {
		if trace.Band == nil {
			continue
		}
		low, high := make([]float64, len(trace.Values)), make([]float64, len(trace.Values))
		for i, v := range trace.Values {
			low[i], high[i] = v-trace.Band[i], v+trace.Band[i]
		}
		at.band(c, p.millis, low, high, veil(styles[k].Colour))
	}
	for k, trace := range panel.Curves {
		at.Curve(c, p.millis, trace.Values, styles[k])
	}
	if p.traces.Places != nil {
		p.drawSmallAxes(c, at)
		return
	}
	at.DrawAxes(c)
	p.drawWindows(c, at)
}

// drawWindows draws the brackets below a chart.
func (p *TracesPlate) drawWindows(c vg.Canvas, at *Chart) {
	for i, w := range p.traces.Windows {
		top := p.bracketTop(at, i)
		from, to := at.Point(1000*w.From, at.Y.Low).X, at.Point(1000*w.To, at.Y.Low).X
		var path vg.Path
		path.Move(vg.Point{X: from, Y: top})
		path.Line(vg.Point{X: from, Y: top - bracketDepth})
		path.Line(vg.Point{X: to, Y: top - bracketDepth})
		path.Line(vg.Point{X: to, Y: top})
		paper.Stroke(c, path, paper.Ink, .6)
	}
}
