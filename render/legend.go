package render

import (
	"fmt"
	"image"
	"image/color"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/topo"
)

const (
	barHeight = 7 * vg.Length(1)
	mostBar   = 62 * mm
	swatch    = 9 * vg.Length(1) // the width of a sample in the legend
	// besideWidth is where the caption has room beside the bar.
	besideWidth = 70 * mm
)

// A legend is the colour bar and the samples that explain the maps' signs.
type legend struct {
	bar     vg.Rectangle
	samples []sample
}

// A sample shows one sign beside its meaning.
type sample struct {
	kind sampleKind
	at   vg.Point // the middle
}

type sampleKind int

const (
	sampleMeasured = sampleKind(Measured)
	sampleRepaired = sampleKind(Repaired)
	sampleLeftOut  = sampleKind(LeftOut)
	sampleDoubtful = sampleLeftOut + 1
	sampleHatch    = sampleLeftOut + 2
)

// placeLegend puts the bar at the left and the words beside it; on a narrow
// page the caption follows below.
func (c *composer) placeLegend() {
	top := c.y
	c.placeBar()
	bottom := c.y

	const between = 18 * vg.Length(1)
	x := c.legend.bar.Max.X + between
	width := c.page.width - pageMargin - x
	c.y = top
	c.samplesText(x, width)
	caption := strings.Join(c.plate.caption(), " ")
	if beside := width >= besideWidth; beside {
		c.y += 2
		c.paragraph(caption, x, width, false)
		c.y = max(c.y, bottom)
		return
	}
	c.y = max(c.y, bottom) + 2
	c.paragraph(caption, pageMargin, c.inner, false)
}

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

// samplesText sets the signs that occur with their meanings, several to a line
// where they fit.
func (c *composer) samplesText(left, width vg.Length) {
	x, right := left, left+width
	fresh := true // nothing on this line yet
	for _, item := range c.plate.signs() {
		full := swatch + regularWidth(item.text)
		if !fresh && x+full > right {
			x, fresh = left, true
		}
		for i, line := range wrap(item.text, width-swatch, false) {
			if i > 0 || fresh {
				c.y += lineHeight
			}
			c.text(line, x+swatch, false)
			if i == 0 {
				middle := canvas.CapHeight(canvas.Sans(textSize, false)) / 2
				c.legend.samples = append(c.legend.samples, sample{item.kind, vg.Point{X: x + swatch/2 - 1, Y: -(c.y - descent) + middle}})
			}
			fresh = false
		}
		x += full + 1.5*textSize
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
	if slices.ContainsFunc(p.panels, func(m *panel) bool { return len(m.doubtful) > 0 && len(p.sheet.Rows[m.row].Marks) > 0 }) {
		signs = append(signs, sign{sampleDoubtful, "doubtful: over half the map’s largest value off what the other sites predict"})
	}
	if text := p.hatchText(); text != "" {
		signs = append(signs, sign{sampleHatch, text})
	}
	return signs
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

// hatchText is the rule for the hatching, empty where nothing is hatched.
func (p *Plate) hatchText() string {
	least, most := math.Inf(1), 0.
	for i, f := range p.furniture {
		if len(f.hatch) > 0 {
			least, most = min(least, p.Supported[i]), max(most, p.Supported[i])
		}
	}
	if most == 0 {
		return ""
	}
	distance := fmt.Sprintf("%.0f", most)
	if low := fmt.Sprintf("%.0f", least); low != distance {
		distance = low + "–" + distance
	}
	return "weak support: over " + distance + "\u00a0mm (median electrode spacing) from any electrode"
}

// pointLength is how far the ends of a clipped bar run out.
const pointLength = 6 * vg.Length(1)

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

const sampleRadius = 1.1 * vg.Length(1)

// drawSamples draws the legend's signs.
func (p *Plate) drawSamples(c vg.Canvas) {
	for _, s := range p.page.legend.samples {
		at, mark := frame{center: s.at, view: onDisc}, Mark{Site: vertexSite}
		switch s.kind {
		case sampleHatch:
			drawHatchSample(c, s.at)
			continue
		case sampleDoubtful:
			var ring vg.Path
			circle(&ring, s.at, ringRadius(sampleRadius))
			drawRings(c, ring)
		default:
			mark.Kind = MarkKind(s.kind)
		}
		drawMarks(c, at, []Mark{mark}, sampleRadius)
	}
}

func drawHatchSample(c vg.Canvas, at vg.Point) {
	half := vg.Point{X: 3.5, Y: 2.6}
	box := vg.Rectangle{Min: at.Sub(half), Max: at.Add(half)}
	var ground, lines vg.Path
	rectangle(&ground, box)
	fillPath(c, ground, color.Gray{Y: 232})
	for x := box.Min.X + hatchGap/4; x < box.Max.X; x += hatchGap {
		lines.Move(vg.Point{X: x, Y: box.Min.Y})
		lines.Line(vg.Point{X: x, Y: box.Max.Y})
	}
	drawHatch(c, lines)
}
