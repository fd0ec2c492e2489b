package render

import (
	"calotte/render/canvas"
	"calotte/render/paper"
	"image"
	"image/color"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"
)

// A colorTable holds the colours of values from minus to plus one scale limit
// at equal steps. Its length is odd: the middle is zero.
type colorTable []color.RGBA

const tableSteps = 512 // on each side of zero

func newColorTable(colour func(v float64) color.RGBA) colorTable {
	t := make(colorTable, 2*tableSteps+1)
	for i := range t {
		t[i] = colour(float64(i-tableSteps) / tableSteps)
	}
	return t
}

// at is the colour of a value in units of the limit.
func (t colorTable) at(v float64) color.RGBA { return t[t.index(v*tableSteps)] }

// of is the colour of a value on a scale that ends at a limit.
func (t colorTable) of(limit float64) func(v float64) color.RGBA {
	return func(v float64) color.RGBA { return t.at(v / limit) }
}

// index is the place of a value in units of the table's steps.
func (t colorTable) index(v float64) int {
	switch {
	case v >= tableSteps:
		return 2 * tableSteps
	case v > -tableSteps:
		return int(v + tableSteps + .5)
	}
	return 0
}

// A painter gives values their colours.
type painter struct {
	table colorTable
	scale float64 // steps of the table in a unit of value
	pixel vg.Length
	// pale, where there is one, is t, below whose magnitude of threshold colours pale.
	pale      *Field
	threshold float64
}

func newPainter(table colorTable, limit float64) painter {
	return painter{table: table, scale: tableSteps / limit, pixel: paper.Pixel}
}

// finest is the picture element of a canvas, a whole part of pixel where it is as fine or
// finer.
func finest(c canvas.Canvas) vg.Length {
	const inches = 4
	_, n := c.Pixels(vg.Rectangle{Max: vg.Point{X: inches * vg.Inch, Y: inches * vg.Inch}})
	return paper.Pixel / vg.Length(max(1, math.Round(float64(n.X)/inches/300)))
}

// colour of a value at a place on the chart.
func (p painter) colour(v float64, at r2.Vec) color.RGBA {
	c := p.table[p.table.index(v*p.scale)]
	if p.pale == nil {
		return c
	}
	return p.table.paled(c, math.Abs(p.pale.At(at))/p.threshold)
}

// faintest is what is left of a colour's distance from that of zero where t is zero.
const faintest = .2

// paled is a colour nearer to that of zero, the more the smaller share is, and unchanged from
// 1: not nearer to white, which in grey is the highest value.
func (t colorTable) paled(c color.RGBA, share float64) color.RGBA {
	strength, zero := faintest+(1-faintest)*min(share, 1), t.at(0)
	part := func(v, z uint8) uint8 { return uint8(math.Round(float64(z) + strength*(float64(v)-float64(z)))) }
	return color.RGBA{R: part(c.R, zero.R), G: part(c.G, zero.G), B: part(c.B, zero.B), A: c.A}
}

// raster colours the field over the inside of the map's edge, at one picture
// element's accuracy: elements that the edge cuts are partly transparent. It
// returns the image and the rectangle it covers, whose corners lie on whole
// multiples of a picture element when the frame's middle does.
func (f *Field) raster(at frame, paint painter) (*image.RGBA, vg.Rectangle) {
	if at.view.View != Top {
		return f.sideRaster(at, paint)
	}
	pixel := paint.pixel
	halfWidth := int(math.Ceil(float64(at.right/pixel))) + 1
	halfHeight := int(math.Ceil(float64(at.front/pixel))) + 1
	img := image.NewRGBA(image.Rect(0, 0, 2*halfWidth, 2*halfHeight))
	dx, dy := float64(pixel/at.right), float64(pixel/at.front)

	xs := make([]float64, 2*halfWidth)
	for i := range xs {
		xs[i] = (float64(i-halfWidth) + .5) * dx
	}
	r := newRows(f, xs)
	for j := range 2 * halfHeight {
		y := (float64(halfHeight-j) - .5) * dy
		first, last, whole := span(y, dx, dy, halfWidth)
		if first >= last {
			continue
		}
		r.moveTo(y)
		line := img.Pix[j*img.Stride:]
		for i := first; i < last; i++ {
			c := paint.colour(r.at(i), r2.Vec{X: xs[i], Y: y})
			if i < whole[0] || i >= whole[1] {
				c = thinned(c, coverage(xs[i], y, dx, dy))
			}
			*(*[4]uint8)(line[4*i:]) = [4]uint8{c.R, c.G, c.B, c.A}
		}
	}
	corner := vg.Point{X: vg.Length(halfWidth) * pixel, Y: vg.Length(halfHeight) * pixel}
	return img, vg.Rectangle{Min: at.center.Sub(corner), Max: at.center.Add(corner)}
}

// thinned is an opaque colour at part coverage, its channels multiplied by it.
func thinned(c color.RGBA, coverage uint8) color.RGBA {
	if coverage == 255 {
		return c
	}
	part := func(v uint8) uint8 { return uint8((int(v)*int(coverage) + 127) / 255) }
	return color.RGBA{R: part(c.R), G: part(c.G), B: part(c.B), A: coverage}
}

// span is the half-open range of columns that the disc, grown by one picture
// element, has on the row at y, and the range of those surely inside.
func span(y, dx, dy float64, halfWidth int) (first, last int, whole [2]int) {
	y = math.Abs(y)
	if y-dy >= 1 {
		return 0, 0, whole
	}
	reach := reachAt(max(y-dy, 0), dx) + 1
	inner := max(reachAt(y+dy, dx)-3, 0)
	return max(0, halfWidth-reach), min(2*halfWidth, halfWidth+reach), [2]int{halfWidth - inner, halfWidth + inner}
}

// coverage is how much of a picture element lies inside the unit disc, taken
// from its distance to the edge.
func coverage(x, y, dx, dy float64) uint8 {
	radius := math.Hypot(x, y)
	if radius == 0 {
		return 255
	}
	slope := math.Hypot(x*dx, y*dy) / radius // change of the radius over one element
	return uint8(math.Round(255 * min(max((1-radius)/slope+.5, 0), 1)))
}
