package scalp

import (
	"image"
	"image/color"
	"math"

	"calotte/render/canvas"
	"calotte/render/palette"
	"calotte/render/paper"

	"gonum.org/v1/plot/vg"
)

// A painter gives values their colours.
type painter struct {
	table palette.Table
	floor float64 // the value of the table's middle
	scale float64 // steps of the table in a unit of value
	pixel vg.Length
}

func newPainter(table palette.Table, s Scale) painter {
	return painter{table: table, floor: s.Floor, scale: palette.Steps / (s.Limit - s.Floor), pixel: paper.Pixel}
}

// finest is the picture element of a canvas, a whole part of pixel where it is
// as fine or finer.
func finest(c canvas.Canvas) vg.Length {
	const inches = 4
	_, n := c.Pixels(vg.Rectangle{Max: vg.Point{X: inches * vg.Inch, Y: inches * vg.Inch}})
	return paper.Pixel / vg.Length(max(1, math.Round(float64(n.X)/inches/300)))
}

// colour of a value.
func (p painter) colour(v float64) color.RGBA { return p.table[p.table.Index((v-p.floor)*p.scale)] }

// raster colours the field over the inside of the map's edge, at one picture
// element's accuracy: elements that the edge cuts are partly transparent. It
// returns the image and the rectangle it covers, whose corners lie on whole
// multiples of a picture element when the frame's middle does.
func (f *Field) raster(at Frame, paint painter) (*image.RGBA, vg.Rectangle) {
	if at.View.View != Top {
		return f.sideRaster(at, paint)
	}
	pixel := paint.pixel
	halfWidth := int(math.Ceil(float64(at.Right/pixel))) + 1
	halfHeight := int(math.Ceil(float64(at.Front/pixel))) + 1
	img := image.NewRGBA(image.Rect(0, 0, 2*halfWidth, 2*halfHeight))
	dx, dy := float64(pixel/at.Right), float64(pixel/at.Front)

	xs := make([]float64, 2*halfWidth)
	for i := range xs {
		xs[i] = (float64(i-halfWidth) + .5) * dx
	}
	r := NewRows(f, xs)
	for j := range 2 * halfHeight {
		y := (float64(halfHeight-j) - .5) * dy
		first, last, whole := span(y, dx, dy, halfWidth)
		if first >= last {
			continue
		}
		r.MoveTo(y)
		line := img.Pix[j*img.Stride:]
		for i := first; i < last; i++ {
			c := paint.colour(r.At(i))
			if i < whole[0] || i >= whole[1] {
				c = thinned(c, coverage(xs[i], y, dx, dy))
			}
			*(*[4]uint8)(line[4*i:]) = [4]uint8{c.R, c.G, c.B, c.A}
		}
	}
	corner := vg.Point{X: vg.Length(halfWidth) * pixel, Y: vg.Length(halfHeight) * pixel}
	return img, vg.Rectangle{Min: at.Center.Sub(corner), Max: at.Center.Add(corner)}
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
