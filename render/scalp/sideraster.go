package scalp

import (
	"image"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"
)

// sideRaster is raster for a side view, whose page is not the chart of the
// field: each picture element looks its place on the chart up, and those at the
// border are covered as far as parts of a sixteenth lie inside.
func (f *Field) sideRaster(at Frame, paint painter) (*image.RGBA, vg.Rectangle) {
	pixel := paint.pixel
	halfWidth := int(math.Ceil(float64(at.Right/pixel))) + 1
	halfHeight := int(math.Ceil(float64(at.Front/pixel))) + 1
	img := image.NewRGBA(image.Rect(0, 0, 2*halfWidth, 2*halfHeight))
	dx, dy := float64(pixel/at.Right), float64(pixel/at.Front)
	inside := func(i, j float64) bool { // in picture elements from the upper left
		x, y := (i-float64(halfWidth))*dx, (float64(halfHeight)-j)*dy
		return x*x+y*y <= 1 && at.View.inside(at.View.rolled(r2.Vec{X: x, Y: y})) >= 0
	}
	corners := func(j int) []bool {
		row := make([]bool, 2*halfWidth+1)
		for i := range row {
			row[i] = inside(float64(i), float64(j))
		}
		return row
	}
	upper := corners(0)
	for j := range 2 * halfHeight {
		lower := corners(j + 1)
		for i := range 2 * halfWidth {
			all := upper[i] && upper[i+1] && lower[i] && lower[i+1]
			covered := uint8(255)
			if !all {
				if !(upper[i] || upper[i+1] || lower[i] || lower[i+1]) {
					continue
				}
				covered = sixteenths(func(u, v float64) bool {
					return inside(float64(i)+u,
						float64(j)+v)
				})
			}
			place := at.View.rolled(r2.Vec{X: (float64(i-halfWidth) + .5) * dx,
				Y: (float64(halfHeight-j) - .5) * dy})
			c := thinned(paint.colour(f.At(place)), covered)
			*(*[4]uint8)(img.Pix[j*img.Stride+4*i:]) = [4]uint8{c.R, c.G, c.B, c.A}
		}
		upper = lower
	}
	corner := vg.Point{X: vg.Length(halfWidth) * pixel, Y: vg.Length(halfHeight) * pixel}
	return img, vg.Rectangle{Min: at.Center.Sub(corner), Max: at.Center.Add(corner)}
}

// sixteenths is the share, of 255, of a unit square in which inside holds.
func sixteenths(inside func(u, v float64) bool) uint8 {
	n := 0
	for i := range 4 {
		for j := range 4 {
			if inside((float64(i)+.5)/4, (float64(j)+.5)/4) {
				n++
			}
		}
	}
	return uint8((n*255 + 8) / 16)
}
