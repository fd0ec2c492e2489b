package chart

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/paper"
	"calotte/topo/filter"
	"calotte/topo/unit"
)

// A Response is a figure of what a filter does: its gain over frequency in
// decibels and as a factor, and the answers to an impulse and to a step, by
// which a reader sees what it spreads to both sides of an edge.
type Response struct {
	Filter *filter.Filter
	Width  vg.Length // zero is 180 mm
}

// A ResponsePlate is a Response whose page is laid out. It is a canvas.Figure.
type ResponsePlate struct {
	response             *Response
	page                 *chartPage
	decibel, gain, step  Chart
	frequencies, factors []float64
	times, edge          []float64
	cutoffs              []float64
}

const (
	deepest      = -100 // dB, the lower end of the axis
	stopBand     = -50  // dB, what the filters promise
	halfPower    = -6   // dB, at the cut-offs
	gainPoints   = 1500
	mostImpulses = 2000 // points of the answers in time
)

// Compose computes the answers and lays out the page.
func (r *Response) Compose() (*ResponsePlate, error) {
	if r.Filter == nil || len(r.Filter.Parts) == 0 {
		return nil, errors.New("there is no filter to draw: give a cut-off")
	}
	page, err := newChartPage(r.Width)
	if err != nil {
		return nil, err
	}
	p := &ResponsePlate{response: r, page: page}
	p.computeGain()
	p.computeAnswers()
	p.layOut()
	return p, nil
}

func (p *ResponsePlate) computeGain() {
	f := p.response.Filter
	low, high := f.Rate/2, f.Rate/2
	for _, part := range f.Parts {
		low = min(low, float64(part.Cutoff)/20)
		p.cutoffs = append(p.cutoffs, float64(part.Cutoff))
	}
	for i := range gainPoints {
		at := low * math.Pow(high/low, float64(i)/(gainPoints-1))
		p.frequencies = append(p.frequencies, at)
		p.factors = append(p.factors, f.Response(unit.Frequency(at)))
	}
}

// computeAnswers takes the middle of the impulse response, where it matters,
// and its sum, the answer to a step, of which a filter with zero phase has as
// much before the edge as after it.
func (p *ResponsePlate) computeAnswers() {
	f := p.response.Filter
	h := f.Impulse()
	reach := f.Reach()
	shown := p.shown(h, reach)
	every := max(1, 2*shown/mostImpulses)
	sum := 0.0
	for k, x := range h {
		sum += x
		if at := k - reach; at >= -shown && at <= shown && (at%every == 0) {
			p.times = append(p.times, float64(at)/f.Rate)
			p.edge = append(p.edge, sum)
		}
	}
}

// clock names the time axis, and brings short times to ms.
func (p *ResponsePlate) clock() string {
	if last := p.times[len(p.times)-1]; last >= 2 {
		return "time, s"
	}
	for i := range p.times {
		p.times[i] *= 1000
	}
	return "time, ms"
}

// shown is how many samples to either side hold all but a hundredth of the
// answer to an impulse, the middle aside.
func (p *ResponsePlate) shown(h []float64, reach int) int {
	total := 0.0
	for k, x := range h {
		if k != reach {
			total += math.Abs(x)
		}
	}
	left := total
	for k := range reach {
		left -= 2 * math.Abs(h[k])
		if left < .99*total {
			return max(reach-k, 8)
		}
	}
	return reach
}

func (p *ResponsePlate) layOut() {
	f := p.response.Filter
	low, high := p.frequencies[0], p.frequencies[len(p.frequencies)-1]
	frequency := Axis{Low: low, High: high, Name: "frequency, Hz", marker: plot.TickerFunc(decades),
		scale: plot.LogScale{}}
	p.decibel = Chart{X: frequency, Y: NewAxis("gain, dB", deepest, 5, 6)}
	p.decibel.Y.marker = ticksAt(deepest, -75, stopBand, -25, halfPower, 0)
	p.gain = Chart{X: frequency, Y: NewAxis("gain", -.1, 1.1, 7)}
	least, greatest := -.1, 1.1
	for _, s := range p.edge {
		least, greatest = min(least, s), max(greatest, s)
	}
	p.step = Chart{X: NewAxis(p.clock(), p.times[0], p.times[len(p.times)-1], 7),
		Y: RoundedAxis("answer to a step", least, greatest, 6)}

	page := p.page
	page.paragraph("What the filter does at "+paper.Number(f.Rate, 6)+"\u00a0Hz", true)
	page.y += 3 + AboveRoom
	left := paper.Margin + max(LeftRoom(p.decibel.Y), LeftRoom(p.gain.Y))
	p.decibel.Rect = rect(left, page.y, page.width-paper.Margin-paper.TextSize, page.y+.28*page.width)
	page.y += .28*page.width + BelowRoom + 6 + AboveRoom
	middle := page.width / 2
	p.gain.Rect = rect(left, page.y, middle-paper.TextSize, page.y+.2*page.width)
	p.step.Rect = rect(middle+paper.TextSize+LeftRoom(p.step.Y), page.y, page.width-paper.Margin-paper.TextSize,
		page.y+.2*page.width)
	page.y += .2*page.width + BelowRoom + 2
	for _, c := range []*Chart{&p.decibel, &p.gain, &p.step} {
		page.texts = append(page.texts, c.Texts()...)
	}
	page.paragraph(p.Description(), false)
	page.finish()
}

// Size of the page, in whole picture elements.
func (p *ResponsePlate) Size() (width, height vg.Length) { return p.page.width, p.page.height }

// Title is that of the document.
func (p *ResponsePlate) Title() string { return "Response of a filter" }

// Description says in words what the filter is and what the curves show.
func (p *ResponsePlate) Description() string {
	return p.response.Filter.Describe() + fmt.Sprintf(
		" Dashed: −6 dB, the gain at the cut-offs, and −50 dB, which the stop bands do not exceed. "+
			"The answer to a step from 0 to 1 begins before the step, since the phase is zero; it runs "+
			"from %s to %s.",
		paper.Number(slices.Min(p.edge), 2), paper.Number(slices.Max(p.edge), 2))
}

// Draw draws the charts.
func (p *ResponsePlate) Draw(c canvas.Canvas) {
	p.page.onPage(c, func() {
		full, dashed := Stroke{Colour: paper.Ink}, []vg.Length{2, 1.5}
		levels := make([]float64, len(p.factors))
		for i, g := range p.factors {
			levels[i] = max(filter.Decibels(g), 2*deepest)
		}
		c.Group("gain-decibel", "gain in decibels")
		c.SetLineDash(dashed, 0)
		for _, level := range []float64{halfPower, stopBand} {
			paper.Stroke(c, paper.Straight(p.decibel.Point(p.decibel.X.Low, level),
				p.decibel.Point(p.decibel.X.High, level)), paper.Faded(.5), .5)
		}
		for _, f := range p.cutoffs {
			paper.Stroke(c, paper.Straight(p.decibel.Point(f, deepest), p.decibel.Point(f, 0)),
				paper.Faded(.5),
				.5)
		}
		c.SetLineDash(nil, 0)
		p.decibel.Curve(c, p.frequencies, levels, full)
		p.decibel.DrawAxes(c)
		c.End()
		c.Group("gain-factor", "gain as a factor")
		p.gain.Curve(c, p.frequencies, p.factors, full)
		p.gain.DrawAxes(c)
		c.End()
		c.Group("step", "answer to a step")
		paper.Stroke(c, paper.Straight(p.step.Point(0, p.step.Y.Low), p.step.Point(0, p.step.Y.High)),
			paper.Faded(.35),
			.5)
		p.step.Curve(c, p.times, p.edge, full)
		p.step.DrawAxes(c)
		c.End()
	})
}
