package chart

import (
	"errors"
	"fmt"
	"image"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/palette"
	"calotte/render/paper"
	"calotte/render/scalp"
)

// An EpochPicture shows every epoch of a condition as a line of colour, in the
// order of time, so that a person can decide which to leave out: at the left
// one site, at the right the largest peak-to-peak amplitude at any site, below
// the average.
type EpochPicture struct {
	Name   string      // of the person and the condition
	Site   string      // what is shown: a site, a pool
	Times  []float64   // s
	Epochs [][]float64 // epoch × sample, µV

	Numbers  []int     // of each epoch's row in the index, from 1; nil: in order
	Response []float64 // s, NaN where there is none; nil: none
	Swings   []float64 // largest peak-to-peak amplitude at any site, µV
	SwingsAt []string  // the site where it is

	Limit     float64   // µV at the ends of the scale; zero: the 98th percentile, rounded outward
	Width     vg.Length // zero is 180 mm
	Synthetic bool
	Remarks   []string
}

// An EpochPlate is an EpochPicture whose page is laid out. It is a
// canvas.Figure.
type EpochPlate struct {
	Limit   float64 // µV at the ends of the scale
	picture *EpochPicture
	page    *chartPage
	image   Chart // epochs over time
	swing   Chart // epochs over peak to peak
	average Chart
	bar     vg.Rectangle
	mean    []float64
	millis  []float64
}

// Compose checks the picture and lays out the page.
func (e *EpochPicture) Compose() (*EpochPlate, error) {
	if err := e.validate(); err != nil {
		return nil, err
	}
	page, err := newChartPage(e.Width)
	if err != nil {
		return nil, err
	}
	p := &EpochPlate{picture: e, page: page, Limit: e.Limit, mean: make([]float64, len(e.Times))}
	for _, row := range e.Epochs {
		for t, x := range row {
			p.mean[t] += x / float64(len(e.Epochs))
		}
	}
	for _, t := range e.Times {
		p.millis = append(p.millis, 1000*t)
	}
	if p.Limit == 0 {
		p.Limit = e.usualLimit()
	}
	p.layOut()
	return p, nil
}

func (e *EpochPicture) validate() error {
	switch {
	case len(e.Epochs) == 0 || len(e.Times) < 2:
		return errors.New("there are no epochs to draw")
	case !(e.Limit >= 0) || math.IsInf(e.Limit, 1):
		return fmt.Errorf("a limit of %g µV: expected a positive number, or zero for the default", e.Limit)
	case len(e.Swings) != len(e.Epochs) || len(e.SwingsAt) != len(e.Epochs):
		return fmt.Errorf("%d peak-to-peak amplitudes for %d epochs: give one for each", len(e.Swings),
			len(e.Epochs))
	case e.Numbers != nil && len(e.Numbers) != len(e.Epochs), e.Response != nil && len(e.Response) != len(e.Epochs):
		return fmt.Errorf("numbers or responses of other than %d epochs: give one for each", len(e.Epochs))
	}
	for i, row := range e.Epochs {
		if len(row) != len(e.Times) {
			return fmt.Errorf("epoch %d has %d samples, there are %d times", i+1, len(row), len(e.Times))
		}
	}
	return nil
}

// usualLimit leaves the 2 % of largest magnitudes beyond the scale, so that one
// wild epoch does not pale all others.
func (e *EpochPicture) usualLimit() float64 {
	var all []float64
	for _, row := range e.Epochs {
		for _, x := range row {
			all = append(all, math.Abs(x))
		}
	}
	slices.Sort(all)
	return scalp.NiceLimit(all[len(all)*98/100])
}

// clipped is the share of samples beyond the limit.
func (p *EpochPlate) clipped() float64 {
	n := 0
	for _, row := range p.picture.Epochs {
		for _, x := range row {
			if math.Abs(x) > p.Limit {
				n++
			}
		}
	}
	return float64(n) / float64(len(p.picture.Epochs)*len(p.millis))
}

const swingWidth = .2 // of the page

func (p *EpochPlate) layOut() {
	e, page := p.picture, p.page
	n := float64(len(e.Epochs))
	order := NewAxis("epoch", n+.5, .5, 9) // the first epoch at the top
	order.marker = p.epochTicks()
	time := NewAxis("time, ms", p.millis[0], p.millis[len(p.millis)-1], 8)
	p.image = Chart{X: time, Y: order}
	most := slices.Max(e.Swings)
	p.swing = Chart{X: RoundedAxis("peak to peak, µV", 0, max(most, 1), 4), Y: order}
	least, greatest := slices.Min(p.mean), slices.Max(p.mean)
	p.average = Chart{X: time, Y: RoundedAxis("average, µV", min(least, 0), max(greatest, 0, least+1e-3), 4)}

	page.paragraph(fmt.Sprintf("%s: %d epochs at %s", e.Name, len(e.Epochs), e.Site), true)
	page.y += 3 + AboveRoom
	left := paper.Margin + max(LeftRoom(p.image.Y), LeftRoom(p.average.Y))
	right := page.width - paper.Margin - paper.TextSize
	split := right - swingWidth*page.width
	height := min(max(vg.Length(len(e.Epochs))*1.2, 40*paper.MM), 110*paper.MM)
	p.image.Rect = rect(left, page.y, split-2*paper.TextSize, page.y+height)
	p.swing.Rect = rect(split, page.y, right, page.y+height)
	page.y += height + 6 + AboveRoom
	p.average.Rect = rect(left, page.y, split-2*paper.TextSize, page.y+22*paper.MM)
	page.texts = append(page.texts, withoutX(&p.image)...)
	page.texts = append(page.texts, withoutY(&p.swing)...)
	page.texts = append(page.texts, p.average.Texts()...)
	page.y += 22*paper.MM + BelowRoom + 4
	p.placeBar(left)
	page.paragraph(strings.Join(p.caption(), " "), false)
	page.finish()
}

// withoutX and withoutY leave out the numbers of an axis that a neighbour has.
func withoutX(c *Chart) []paper.Line {
	bare := *c
	bare.X.marker, bare.X.Name = noTicks, ""
	return bare.Texts()
}

func withoutY(c *Chart) []paper.Line {
	bare := *c
	bare.Y.marker, bare.Y.Name = noTicks, ""
	return bare.Texts()
}

// epochTicks mark whole epochs with their rows in the index.
func (p *EpochPlate) epochTicks() plot.ConstantTicks {
	var ticks plot.ConstantTicks
	for _, t := range (RoundTicks{Most: 9}).Ticks(1, float64(len(p.picture.Epochs))) {
		if t.Value == math.Round(t.Value) {
			ticks = append(ticks, plot.Tick{Value: t.Value, Label: fmt.Sprint(p.number(int(t.Value) - 1))})
		}
	}
	return ticks
}

// number is an epoch's row in the index.
func (p *EpochPlate) number(epoch int) int {
	if p.picture.Numbers == nil {
		return epoch + 1
	}
	return p.picture.Numbers[epoch]
}

// placeBar sets the scale below the average.
func (p *EpochPlate) placeBar(left vg.Length) {
	page := p.page
	page.y += 2
	p.bar = rect(left, page.y, left+50*paper.MM, page.y+paper.BarHeight)
	page.y += paper.BarHeight + paper.TickLength + paper.LineHeight + 2
	for _, v := range []float64{-p.Limit, 0, p.Limit} {
		text := paper.TickText(v)
		page.texts = append(page.texts,
			paper.Line{Text: text, At: vg.Point{X: p.barX(v) - paper.Width(text)/2,
				Y: -(page.y - paper.Descent)}})
	}
	page.texts = append(page.texts, paper.Line{Text: "potential at " + p.picture.Site + ", µV",
		At: vg.Point{X: p.bar.Max.X + paper.Width(paper.TickText(p.Limit)) + paper.TextSize,
			Y: -(page.y - paper.Descent)}})
	page.y += 4
}

func (p *EpochPlate) barX(v float64) vg.Length {
	return p.bar.Min.X + vg.Length((v/p.Limit+1)/2)*(p.bar.Max.X-p.bar.Min.X)
}

func (p *EpochPlate) caption() []string {
	e := p.picture
	var lines []string
	if e.Synthetic {
		lines = append(lines, "Synthetic data.")
	}
	lines = append(lines, "Each line is an epoch, the first at the top; numbers are rows of the index of "+
		"epochs (its "+
		"header aside).")
	if e.Response != nil {
		lines = append(lines, "Dark marks: responses.")
	}
	if share := p.clipped(); share > 0 {
		lines = append(lines, fmt.Sprintf("Beyond ±%s\u00a0µV: %s of the samples.", paper.Number(p.Limit, 3),
			paper.Percent(share)))
	}
	worst := slices.Index(e.Swings, slices.Max(e.Swings))
	lines = append(lines, fmt.Sprintf("Right: the largest peak-to-peak amplitude at any site; most in epoch %d, "+
		"%s\u00a0µV at %s.",
		p.number(worst), paper.Number(e.Swings[worst], 3), e.SwingsAt[worst]))
	return append(lines, e.Remarks...)
}

// Size of the page, in whole picture elements.
func (p *EpochPlate) Size() (width, height vg.Length) { return p.page.width, p.page.height }

// Title is that of the document.
func (p *EpochPlate) Title() string { return "Epochs of " + p.picture.Name }

// Description says in words what is shown.
func (p *EpochPlate) Description() string {
	return fmt.Sprintf("%d epochs of %s at %s as lines of colour over time, and their average. %s",
		len(p.picture.Epochs), p.picture.Name, p.picture.Site, strings.Join(p.caption(), " "))
}

// Draw draws the epochs, the strip beside them and the average.
func (p *EpochPlate) Draw(c canvas.Canvas) {
	table := palette.NewTable(palette.Diverging.At)
	p.page.onPage(c, func() {
		c.Group("epochs", "epochs over time")
		r, size := c.Pixels(p.image.Rect)
		c.DrawImage(r, p.raster(size, table))
		p.drawResponses(c)
		p.drawZero(c, &p.image)
		bare := p.image
		bare.X.marker = noTicks
		bare.DrawAxes(c)
		c.End()
		c.Group("peak-to-peak", "peak to peak by epoch")
		p.drawSwings(c)
		c.End()
		c.Group("average", "average over the epochs")
		p.drawZero(c, &p.average)
		p.average.Curve(c, p.millis, p.mean, Stroke{Colour: paper.Ink})
		p.average.DrawAxes(c)
		c.End()
		c.DrawImage(p.bar, palette.Bar(table))
		for _, v := range []float64{-p.Limit, 0, p.Limit} {
			at := vg.Point{X: p.barX(v), Y: p.bar.Min.Y}
			paper.Stroke(c, paper.Straight(at, vg.Point{X: at.X, Y: at.Y - paper.TickLength}), paper.Ink,
				.5)
		}
	})
}

// raster colours each picture element by the epoch and the sample that it lies
// in.
func (p *EpochPlate) raster(size image.Point, table palette.Table) image.Image {
	e := p.picture
	img := image.NewRGBA(image.Rect(0, 0, size.X, size.Y))
	for y := range size.Y {
		row := e.Epochs[min(len(e.Epochs)-1, y*len(e.Epochs)/size.Y)]
		for x := range size.X {
			// The axis runs from the first sample to the last.
			sample := int(math.Round((float64(x) + .5) / float64(size.X) * float64(len(row)-1)))
			img.SetRGBA(x, y, table.At(row[sample]/p.Limit))
		}
	}
	return img
}

// drawZero marks time zero.
func (p *EpochPlate) drawZero(c vg.Canvas, at *Chart) {
	if at.X.Low < 0 && at.X.High > 0 {
		paper.Stroke(c, paper.Straight(at.Point(0, at.Y.Low), at.Point(0, at.Y.High)), paper.Faded(.6), .5)
	}
}

func (p *EpochPlate) drawResponses(c vg.Canvas) {
	for i, t := range p.picture.Response {
		if ms := 1000 * t; ms >= p.image.X.Low && ms <= p.image.X.High {
			at := float64(i + 1)
			paper.Stroke(c, paper.Straight(p.image.Point(ms, at-.5), p.image.Point(ms, at+.5)), paper.Ink,
				1)
		}
	}
}

// drawSwings draws a bar an epoch.
func (p *EpochPlate) drawSwings(c vg.Canvas) {
	height := p.swing.Rect.Size().Y / vg.Length(len(p.picture.Swings))
	for i, s := range p.picture.Swings {
		end := p.swing.Point(s, float64(i+1))
		var bar vg.Path
		bar.Move(vg.Point{X: p.swing.Rect.Min.X, Y: end.Y - .35*height})
		bar.Line(vg.Point{X: end.X, Y: end.Y - .35*height})
		bar.Line(vg.Point{X: end.X, Y: end.Y + .35*height})
		bar.Line(vg.Point{X: p.swing.Rect.Min.X, Y: end.Y + .35*height})
		bar.Close()
		paper.Fill(c, bar, paper.Faded(.65))
	}
	bare := p.swing
	bare.Y.marker = noTicks
	bare.DrawAxes(c)
}
