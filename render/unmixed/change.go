package unmixed

import (
	"errors"
	"fmt"
	"strings"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/chart"
	"calotte/render/paper"
)

// A Change is the data before and after components were taken out, at the sites
// that changed most.
type Change struct {
	Name          string
	Sites         []string
	Times         []float64   // s
	Before, After [][]float64 // site × sample, µV
	Caption       string
	Synthetic     bool
}

// A changePage is a Change that is laid out. It is a canvas.Figure.
type changePage struct {
	change *Change
	charts []plotted
	page   paper.Page
}

const (
	traceHeight = 58 * vg.Length(1)
	traceLeft   = 44 * vg.Length(1)
	mostSeconds = 10 // ticks
)

// Compose checks the change and lays out the page.
func (ch *Change) Compose() (canvas.Figure, error) {
	if len(ch.Sites) == 0 || len(ch.Times) < 2 || len(ch.Before) != len(ch.Sites) ||
		len(ch.After) != len(ch.Sites) {
		return nil, errors.New("a change needs a site, two samples, and both the data before and after")
	}
	p := &changePage{change: ch}
	p.page = paper.Page{Width: paper.DefaultWidth, Inner: paper.DefaultWidth - 2*paper.Margin, Y: paper.Margin}
	title := ch.Name + ": before and after"
	if ch.Synthetic {
		title += " (synthetic data)"
	}
	p.page.Paragraph(title, paper.Margin, p.page.Inner, true)
	p.page.Paragraph(ch.Caption, paper.Margin, p.page.Inner, false)
	p.page.Y += paper.LineHeight
	for k, site := range ch.Sites {
		p.trace(k, site)
	}
	p.page.Height = p.page.Y + paper.Margin
	return p, nil
}

// trace adds the chart of a site.
func (p *changePage) trace(k int, site string) {
	ch := p.change
	c := plotted{curves: []curve{
		{ch.Times, ch.Before[k], chart.Stroke{Colour: paper.Faded(.4)}},
		{ch.Times, ch.After[k], chart.Stroke{Colour: paper.Ink}}}}
	c.Y = axisOf([][]float64{ch.Before[k], ch.After[k]})
	c.X = chart.NewAxis("", ch.Times[0], ch.Times[len(ch.Times)-1], mostSeconds)
	bottom := paper.LineHeight
	if k == len(ch.Sites)-1 {
		c.X.Name, bottom = "s", chart.BelowRoom
	}
	c.Rect = vg.Rectangle{Min: vg.Point{X: traceLeft, Y: -p.page.Y - traceHeight},
		Max: vg.Point{X: p.page.Width - 2*paper.Margin, Y: -p.page.Y}}
	for _, t := range c.Texts() {
		below := t.At.Y < c.Rect.Min.Y-paper.TickLength-paper.TextSize/2
		if t.Text != "" && (!below || k == len(ch.Sites)-1) {
			p.page.Texts = append(p.page.Texts, t)
		}
	}
	p.page.Texts = append(p.page.Texts, paper.Line{Text: site, Bold: true,
		At: vg.Point{X: paper.Margin, Y: -p.page.Y - paper.TextSize}})
	p.charts = append(p.charts, c)
	p.page.Y += traceHeight + bottom
}

// Size of the page.
func (p *changePage) Size() (width, height vg.Length) { return p.page.Width, p.page.Height }

// Title is that of the document.
func (p *changePage) Title() string { return p.change.Name + ": before and after" }

// Description says in words what is shown.
func (p *changePage) Description() string {
	return fmt.Sprintf("Potentials at %s before components were taken out, grey, and after, black. %s",
		strings.Join(p.change.Sites, ", "), p.change.Caption)
}

// Draw draws the traces.
func (p *changePage) Draw(c canvas.Canvas) {
	c.Push()
	c.Translate(vg.Point{Y: p.page.Height})
	for _, chart := range p.charts {
		chart.draw(c)
	}
	for _, t := range p.page.Texts {
		t.Draw(c)
	}
	c.Pop()
}
