package render

import (
	"image"

	"gonum.org/v1/plot/vg"

	"calotte/topo"
)

const (
	barHeight = 7 * vg.Length(1)
	mostBar   = 62 * mm
	// pointLength is how far the ends of a clipped bar run out.
	pointLength = 6 * vg.Length(1)
)

// placeBar sets the quantity, the bar below it and the numbers of its ticks.
func (c *composer) placeBar() {
	s := c.plate.Scale
	c.y += lineHeight
	c.text(c.plate.sheet.quantityText(), pageMargin, false)
	ticks := s.Ticks()
	overhang := max(regularWidth(tickText(-s.Limit))/2, pointLength)
	length := min(.45*c.inner, mostBar) - 2*overhang
	if all := lengthForAll(ticks); all > length && all+2*overhang <= .55*c.inner {
		length = all // a little more, and every tick has its number
	}
	left := pageMargin + overhang
	c.legend.bar = vg.Rectangle{
		Min: vg.Point{X: left, Y: -c.y - 2 - barHeight},
		Max: vg.Point{X: left + length, Y: -c.y - 2},
	}
	c.y += 2 + barHeight + 2 + lineHeight
	every := labelEvery(ticks, length)
	for i := len(ticks) / 2 % every; i < len(ticks); i += every {
		text := tickText(ticks[i])
		c.text(text, c.legend.tickX(ticks[i], s.Limit)-regularWidth(text)/2, false)
	}
}

func tickText(v float64) string { return number(v, 6) }

// lengthForAll is how long a bar with numbers at all its ticks must be.
func lengthForAll(ticks []float64) vg.Length {
	var widest vg.Length
	for i := 1; i < len(ticks); i++ {
		widest = max(widest, roomFor(ticks[i-1], ticks[i]))
	}
	return widest * vg.Length(len(ticks)-1) * 1.001
}

// roomFor is how far apart the ticks of two neighbouring numbers must be.
func roomFor(a, b float64) vg.Length {
	return (regularWidth(tickText(a))+regularWidth(tickText(b)))/2 + .5*textSize
}

// labelEvery is the least number of ticks from one number to the next, a
// divisor of the number of ticks on each side of zero, that keeps numbers apart.
func labelEvery(ticks []float64, length vg.Length) int {
	n := len(ticks) / 2
	for every := 1; every < n; every++ {
		if n%every != 0 {
			continue
		}
		room := length * vg.Length(every) / vg.Length(2*n)
		fits := true
		for i := every; i < len(ticks); i += every {
			fits = fits && roomFor(ticks[i-every], ticks[i]) <= room
		}
		if fits {
			return every
		}
	}
	return n
}

func (l legend) tickX(v, limit float64) vg.Length {
	return l.bar.Min.X + (l.bar.Max.X-l.bar.Min.X)*vg.Length((v/limit+1)/2)
}

// drawBar draws the colours, the contours as they look on the maps, and points
// at the ends beyond which values are clipped.
func (p *Plate) drawBar(c vg.Canvas, table colorTable) {
	s, l := p.Scale, p.page.legend
	c.DrawImage(l.bar, barImage(table))
	middle := (l.bar.Min.Y + l.bar.Max.Y) / 2
	var edge vg.Path
	edge.Move(l.bar.Min)
	edge.Line(vg.Point{X: l.bar.Max.X, Y: l.bar.Min.Y})
	if s.Greatest > s.Limit {
		tip := vg.Point{X: l.bar.Max.X + pointLength, Y: middle}
		fillPath(c, triangle(vg.Point{X: l.bar.Max.X, Y: l.bar.Min.Y}, tip, l.bar.Max), table.at(1))
		edge.Line(tip)
	}
	edge.Line(l.bar.Max)
	edge.Line(vg.Point{X: l.bar.Min.X, Y: l.bar.Max.Y})
	if s.Least < -s.Limit {
		tip := vg.Point{X: l.bar.Min.X - pointLength, Y: middle}
		fillPath(c, triangle(l.bar.Min, tip, vg.Point{X: l.bar.Min.X, Y: l.bar.Max.Y}), table.at(-1))
		edge.Line(tip)
	}
	edge.Close()

	ticks := s.Ticks()
	for i, v := range ticks {
		x := l.tickX(v, s.Limit)
		if 0 < i && i < len(ticks)-1 && (v != 0 || p.sheet.Quantity == topo.Potential) {
			var line vg.Path
			line.Move(vg.Point{X: x, Y: l.bar.Min.Y})
			line.Line(vg.Point{X: x, Y: l.bar.Max.Y})
			strokeContour(c, line, v)
		}
		var tick vg.Path
		tick.Move(vg.Point{X: x, Y: l.bar.Min.Y})
		tick.Line(vg.Point{X: x, Y: l.bar.Min.Y - tickLength})
		strokePath(c, tick, ink, .5)
	}
	strokePath(c, edge, ink, .5)
}

func triangle(a, b, c vg.Point) vg.Path {
	var p vg.Path
	p.Move(a)
	p.Line(b)
	p.Line(c)
	p.Close()
	return p
}

// barImage is one row of all colours.
func barImage(table colorTable) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, len(table), 1))
	for i, colour := range table {
		img.SetRGBA(i, 0, colour)
	}
	return img
}
