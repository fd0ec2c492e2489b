package scalp

import (
	"fmt"
	"image/color"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/paper"
)

const (
	sampleRadius = 1.1 * vg.Length(1) // of a mark in it
	// besideWidth is where the caption has room beside the bar.
	besideWidth = 70 * paper.MM
	// samplesWidth is where the samples have.
	samplesWidth = 30 * paper.MM
)

// A sample shows one sign beside its meaning.
type sample struct {
	kind sampleKind
	at   vg.Point // the middle
}

type sampleKind int

const (
	sampleMeasured  = sampleKind(Measured)
	sampleRepaired  = sampleKind(Repaired)
	sampleLeftOut   = sampleKind(LeftOut)
	sampleDeparting = sampleLeftOut + 1
	sampleHatch     = sampleLeftOut + 2
	sampleChosen    = sampleLeftOut + 3
	sampleStipple   = sampleLeftOut + 4
	samplePaper     = sampleLeftOut + 5
)

// placeLegend puts the bar at the left and the words beside it; on a narrow
// page the caption follows below, on a very narrow one the samples, too.
func (c *composer) placeLegend() {
	top := c.Y
	for i := range c.plate.Scales {
		c.placeBar(i)
	}
	bottom := c.Y

	const between = 18 * vg.Length(1)
	x := c.bars[0].Max.X + between
	width := c.page.Width - paper.Margin - x
	if width < samplesWidth {
		x, width = paper.Margin, c.Inner
		c.samplesText(x, width)
		bottom = c.Y
	} else {
		c.Y = top
		c.samplesText(x, width)
	}
	caption := strings.Join(c.plate.caption(), " ")
	if x > paper.Margin && width >= besideWidth {
		c.Y += 2
		c.Paragraph(caption, x, width, false)
		c.Y = max(c.Y, bottom)
		return
	}
	c.Y = max(c.Y, bottom) + 2
	c.Paragraph(caption, paper.Margin, c.Inner, false)
}

// samplesText sets the signs that occur with their meanings, several to a line
// where they fit.
func (c *composer) samplesText(left, width vg.Length) {
	x, right := left, left+width
	fresh := true // nothing on this line yet
	for _, item := range c.plate.signs() {
		full := paper.Swatch + paper.Width(item.text)
		if !fresh && x+full > right {
			x, fresh = left, true
		}
		for i, line := range paper.Wrap(item.text, width-paper.Swatch, false) {
			if i > 0 || fresh {
				c.Y += paper.LineHeight
			}
			c.Text(line, x+paper.Swatch, false)
			if i == 0 {
				middle := canvas.CapHeight(canvas.Sans(paper.TextSize, false)) / 2
				c.samples = append(c.samples,
					sample{item.kind, vg.Point{X: x + paper.Swatch/2 - 1,
						Y: -(c.Y - paper.Descent) + middle}})
			}
			fresh = false
		}
		x += full + 1.5*paper.TextSize
	}
}

type sign struct {
	kind sampleKind
	text string
}

// signs lists what the reader meets on the maps.
func (p *Plate) signs() []sign {
	counts := map[MarkKind]bool{}
	for _, r := range p.sheet.Rows {
		for _, m := range r.Marks {
			counts[m.Kind] = true
		}
	}
	var signs []sign
	for _, k := range []sign{
		{sampleMeasured, "measured site"}, {sampleRepaired, "repaired site"}, {sampleLeftOut, "site left out"},
	} {
		if counts[MarkKind(k.kind)] {
			if k.kind == sampleMeasured {
				k.text += p.measuredCount()
			}
			signs = append(signs, k)
		}
	}
	if text := p.departingText(); text != "" {
		signs = append(signs, sign{sampleDeparting, text})
	}
	if s := p.sheet; slices.ContainsFunc(s.Rows, func(r Row) bool { return len(r.Chosen) > 0 }) {
		signs = append(signs, sign{sampleChosen, "marked: " + s.Choice})
	}
	if b := p.sheet.Boundary; b.Errors > 0 {
		signs = append(signs, sign{sampleStipple, fmt.Sprintf("within %s %s of zero, uncorrected",
			paper.Number(b.Errors, 3), b.Of.ErrorsText())})
	}
	return append(signs, p.territorySigns()...)
}

// measuredCount is the number of measured electrodes of every row, " (61–64)".
func (p *Plate) measuredCount() string {
	least, most := 0, 0
	for i, r := range p.sheet.Rows {
		n := 0
		for _, m := range r.Marks {
			if m.Kind == Measured {
				n++
			}
		}
		if i == 0 {
			least = n
		}
		least, most = min(least, n), max(most, n)
	}
	if least == most {
		return fmt.Sprintf(" (%d)", most)
	}
	return fmt.Sprintf(" (%d–%d)", least, most)
}

// drawSamples draws the legend's signs.
func (p *Plate) drawSamples(c vg.Canvas) {
	for _, s := range p.page.samples {
		at, mark := Frame{Center: s.at, View: OnDisc}, Mark{Site: vertexSite}
		switch s.kind {
		case sampleHatch:
			drawHatchSample(c, s.at)
			continue
		case sampleChosen:
			drawChosen(c, []vg.Point{s.at}, sampleRadius)
			continue
		case sampleStipple:
			drawStippleSample(c, s.at)
			continue
		case samplePaper:
			drawPaperSample(c, s.at)
			continue
		case sampleDeparting:
			var ring vg.Path
			paper.Circle(&ring, s.at, ringRadius(sampleRadius))
			drawRings(c, ring)
		default:
			mark.Kind = MarkKind(s.kind)
		}
		drawMarks(c, at, []Mark{mark}, sampleRadius)
	}
}

// swatch is the area of a sample.
func swatch(at vg.Point) vg.Rectangle {
	half := vg.Point{X: 3.5, Y: 2.6}
	return vg.Rectangle{Min: at.Sub(half), Max: at.Add(half)}
}

func drawStippleSample(c vg.Canvas, at vg.Point) {
	var ground, dots vg.Path
	box := swatch(at)
	paper.Rectangle(&ground, box)
	paper.Fill(c, ground, color.Gray{Y: 232})
	for k := range 4 {
		diamond(&dots, vg.Point{X: box.Min.X + 1.2 + dotPitch/2*vg.Length(k), Y: at.Y + .9*vg.Length(1-2*(k%2))},
			dotSize)
	}
	paper.Fill(c, dots, paper.Faded(.75))
	strokeBoundary(c, paper.Straight(box.Min, vg.Point{X: box.Max.X, Y: box.Min.Y}))
}

func drawPaperSample(c vg.Canvas, at vg.Point) {
	var edge vg.Path
	paper.Rectangle(&edge, swatch(at))
	paper.Fill(c, edge, color.White)
	paper.Stroke(c, edge, paper.Faded(.5), .35)
}

func drawHatchSample(c vg.Canvas, at vg.Point) {
	box := swatch(at)
	var ground, lines vg.Path
	paper.Rectangle(&ground, box)
	paper.Fill(c, ground, color.Gray{Y: 232})
	for x := box.Min.X + hatchGap/4; x < box.Max.X; x += hatchGap {
		lines.Move(vg.Point{X: x, Y: box.Min.Y})
		lines.Line(vg.Point{X: x, Y: box.Max.Y})
	}
	drawHatch(c, lines)
}
