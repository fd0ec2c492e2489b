package scalp

import (
	"image/color"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"

	"calotte/render/palette"
	"calotte/render/paper"
)

var testTable = palette.NewTable(palette.Diverging.At)

func TestRasterColoursValues(t *testing.T) {
	value := func(p r2.Vec) float64 { return 3*p.X - p.Y }
	at := Frame{Center: vg.Point{X: 100 * paper.Pixel, Y: 90 * paper.Pixel}, Right: 80.3 * paper.Pixel,
		Front: 60 * paper.Pixel}
	img, covers := sampled(value).raster(at, newPainter(testTable, Scale{Limit: 4}))
	size := img.Bounds().Size()
	if w, h := covers.Size().X/paper.Pixel,
		covers.Size().Y/paper.Pixel; math.Abs(float64(w)-float64(size.X)) > 1e-9 ||
		math.Abs(float64(h)-float64(size.Y)) > 1e-9 {
		t.Fatalf("an image of %v covers %g × %g picture elements", size, w, h)
	}
	for i := range size.X {
		for j := range size.Y {
			x := (covers.Min.X + (vg.Length(i)+.5)*paper.Pixel - at.Center.X) / at.Right
			y := (covers.Max.Y - (vg.Length(j)+.5)*paper.Pixel - at.Center.Y) / at.Front
			p := r2.Vec{X: float64(x), Y: float64(y)}
			got := img.RGBAAt(i, j)
			switch radius := r2.Norm(p); {
			case radius < .98 && got != testTable.At(value(p)/4):
				t.Fatalf("(%d, %d) is %v, want the colour of %g", i, j, got, value(p))
			case radius > 1.02 && got != (color.RGBA{}):
				t.Fatalf("(%d, %d) outside the map is %v", i, j, got)
			}
		}
	}
}

// The partly covered elements make up the area of the ellipse.
func TestRasterCoversTheDisc(t *testing.T) {
	at := Frame{Right: 41.7 * paper.Pixel, Front: 50.2 * paper.Pixel}
	img, _ := sampled(func(r2.Vec) float64 { return 0 }).raster(at, newPainter(testTable, Scale{Limit: 1}))
	var area float64
	for i := 3; i < len(img.Pix); i += 4 {
		area += float64(img.Pix[i]) / 255
	}
	if want := math.Pi * 41.7 * 50.2; math.Abs(area/want-1) > 1e-3 {
		t.Errorf("covered %.1f elements, want %.1f", area, want)
	}
}

func TestRasterIsSymmetric(t *testing.T) {
	img, _ := sampled(func(p r2.Vec) float64 {
		return math.Cos(3*p.X) *
			math.Sin(2+p.Y)
	}).raster(Frame{Right: 70.4 *
		paper.Pixel, Front: 81 * paper.Pixel}, newPainter(testTable, Scale{Limit: 1}))
	size := img.Bounds().Size()
	for j := range size.Y {
		for i := range size.X / 2 {
			if a, b := img.RGBAAt(i, j), img.RGBAAt(size.X-1-i, j); a != b {
				t.Fatalf("row %d: column %d is %v but its mirror image %v", j, i, a, b)
			}
		}
	}
}

func BenchmarkRaster(b *testing.B) {
	f := sampled(func(p r2.Vec) float64 { return math.Sin(5*p.X+1) * math.Cos(6*p.Y) })
	at := Frame{Right: 240 * paper.Pixel, Front: 240 * paper.Pixel}
	for b.Loop() {
		f.raster(at, newPainter(testTable, Scale{Limit: 1}))
	}
}
