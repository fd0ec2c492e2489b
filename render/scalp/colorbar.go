package scalp

import (
	"image/color"

	"gonum.org/v1/plot/vg"

	"calotte/render/palette"
	"calotte/render/paper"
)

const (
	mostBar = 62 * paper.MM
	// pointLength is how far the ends of a clipped bar run out.
	pointLength = 6 * vg.Length(1)
)

// placeBar sets the quantity, the bar of a scale below it and the numbers of
// its ticks.
func (c *composer) placeBar(i int) {
	s := c.plate.Scales[i]
	ticks := s.Ticks()
	overhang := max(paper.Width(paper.TickText(ticks[0]))/2, paper.Width(paper.TickText(s.Limit))/2, pointLength)
	length := min(.45*c.Inner, mostBar) - 2*overhang
	if all := paper.LengthForAll(ticks); all > length && all+2*overhang <= .55*c.Inner {
		length = all // a little more, and every tick has its number
	}
	title := c.plate.sheet.QuantityText()
	if s.Of != "" {
		title = s.Of + ": " + title
	}
	if i > 0 {
		c.Y += 4
	}
	c.Paragraph(title, paper.Margin, length+2*overhang, false)
	left := paper.Margin + overhang
	bar := vg.Rectangle{
		Min: vg.Point{X: left, Y: -c.Y - 2 - paper.BarHeight},
		Max: vg.Point{X: left + length, Y: -c.Y - 2},
	}
	c.bars = append(c.bars, bar)
	c.Y += 2 + paper.BarHeight + 2 + paper.LineHeight
	steps := len(ticks) - 1 // to be counted from zero
	zero := 0
	if !s.OneSided {
		steps, zero = steps/2, steps/2
	}
	every := paper.LabelEvery(ticks, steps, length)
	for k := zero % every; k < len(ticks); k += every {
		text := paper.TickText(ticks[k])
		c.Text(text, s.TickX(bar, ticks[k])-paper.Width(text)/2, false)
	}
}

// share is how far along the bar a value lies.
func (s Scale) share(v float64) float64 {
	if s.OneSided {
		return (v - s.Floor) / (s.Limit - s.Floor)
	}
	return (v/s.Limit + 1) / 2
}

// TickX is where a value lies along a bar.
func (s Scale) TickX(bar vg.Rectangle, v float64) vg.Length {
	return bar.Min.X + (bar.Max.X-bar.Min.X)*vg.Length(s.share(v))
}

// drawBar draws the colours, the contours as they look on the maps, and points
// at the ends beyond which values are clipped.
func (p *Plate) drawBar(c vg.Canvas, which int, table palette.Table) {
	s, bar := p.Scales[which], p.page.bars[which]
	bands := s.layers(s.colour(table))
	if s.OneSided {
		table = table[len(table)/2:]
	}
	if p.sheet.Form == Bands {
		s.drawBands(c, bar, bands)
	} else {
		c.DrawImage(bar, palette.Bar(table))
	}
	middle := (bar.Min.Y + bar.Max.Y) / 2
	var edge vg.Path
	edge.Move(bar.Min)
	edge.Line(vg.Point{X: bar.Max.X, Y: bar.Min.Y})
	if s.Above > s.Limit {
		tip := vg.Point{X: bar.Max.X + pointLength, Y: middle}
		paper.Fill(c, triangle(vg.Point{X: bar.Max.X, Y: bar.Min.Y}, tip, bar.Max), table[len(table)-1])
		edge.Line(tip)
	}
	edge.Line(bar.Max)
	edge.Line(vg.Point{X: bar.Min.X, Y: bar.Max.Y})
	if !s.OneSided && s.Below < -s.Limit {
		tip := vg.Point{X: bar.Min.X - pointLength, Y: middle}
		paper.Fill(c, triangle(bar.Min, tip, vg.Point{X: bar.Min.X, Y: bar.Max.Y}), table[0])
		edge.Line(tip)
	}
	edge.Close()

	ticks := s.Ticks()
	for i, v := range ticks {
		x := s.TickX(bar, v)
		if 0 < i && i < len(ticks)-1 && (v != 0 || p.sheet.zeroDrawn()) {
			var line vg.Path
			line.Move(vg.Point{X: x, Y: bar.Min.Y})
			line.Line(vg.Point{X: x, Y: bar.Max.Y})
			strokeContour(c, line, v)
		}
		var tick vg.Path
		tick.Move(vg.Point{X: x, Y: bar.Min.Y})
		tick.Line(vg.Point{X: x, Y: bar.Min.Y - paper.TickLength})
		paper.Stroke(c, tick, paper.Ink, .5)
	}
	paper.Stroke(c, edge, paper.Ink, .5)
}

// drawBands draws the colours of bands as the bands are drawn on a map, each
// over those before.
func (s Scale) drawBands(c vg.Canvas, bar vg.Rectangle, of layers) {
	beyond := func(left, right vg.Length, colour color.RGBA) {
		var path vg.Path
		paper.Rectangle(&path, vg.Rectangle{Min: vg.Point{X: left, Y: bar.Min.Y},
			Max: vg.Point{X: right, Y: bar.Max.Y}})
		paper.Fill(c, path, colour)
	}
	beyond(bar.Min.X, bar.Max.X, of.ground)
	for _, step := range of.steps {
		switch at := s.TickX(bar, step.level); {
		case step.upper && at < bar.Max.X:
			beyond(at, bar.Max.X, step.colour)
		case !step.upper && at > bar.Min.X:
			beyond(bar.Min.X, at, step.colour)
		}
	}
}

func triangle(a, b, c vg.Point) vg.Path {
	var p vg.Path
	p.Move(a)
	p.Line(b)
	p.Line(c)
	p.Close()
	return p
}
