package canvas

import (
	"image"
	"image/color"
	"image/draw"
	"math"

	"github.com/golang/freetype/raster"
	"golang.org/x/image/math/fixed"
)

// A bitmap is the device that draws pixels.
type bitmap struct {
	img     *image.RGBA
	scanner *raster.Rasterizer
	masks   map[*clip]mask
	letters *letterer
}

// Raster draws a figure at a resolution in dots per inch, on white.
func Raster(f Figure, resolution float64) (*image.RGBA, error) {
	width, height := f.Size()
	size, err := pixelSize(float64(width), float64(height), resolution)
	if err != nil {
		return nil, err
	}
	img := image.NewRGBA(image.Rectangle{Max: size})
	whiten(img.Pix)
	b := &bitmap{
		img:     img,
		scanner: raster.NewRasterizer(size.X, size.Y),
		masks:   map[*clip]mask{nil: {r: img.Rect}},
		letters: newLetterer(),
	}
	b.scanner.UseNonZeroWinding = true
	base := downward(float64(height), resolution/pointsPerInch)
	if err := newDrawing(b, base, float64(height), resolution).render(f); err != nil {
		return nil, err
	}
	return img, nil
}

// whiten fills by doubling what is white, at the speed of memory.
func whiten(pix []uint8) {
	pix[0] = 255
	for n := 1; n < len(pix); n *= 2 {
		copy(pix[n:], pix[:n])
	}
}

// flatness is how far, in pixels, a chord may depart from its curve.
const flatness = 0.05

func (b *bitmap) fill(o outline, ink color.NRGBA, k *clip) {
	brush := newBrush(b.img, ink, b.mask(k)) // before scan: a new mask uses the scanner
	b.scan(o)
	b.scanner.Rasterize(brush)
}

func (b *bitmap) stroke(o outline, p pen, k *clip) {
	brush := newBrush(b.img, p.ink, b.mask(k))
	b.scanner.Clear()
	width := max(1, fixed26(p.width))
	for _, part := range o.polylines(flatness) {
		for _, dash := range dashes(part, p.dash, p.offset) {
			if path := strokePath(dash); len(path) > 4 {
				b.scanner.AddStroke(path, width, raster.ButtCapper, raster.RoundJoiner)
			}
		}
	}
	b.scanner.Rasterize(brush)
}

func (b *bitmap) text(t lettering, ink color.NRGBA, k *clip) {
	b.fill(b.letters.outline(t), ink, k)
}

func (b *bitmap) picture(img image.Image, m affine, k *clip) {
	blit(b.img, rgba(img), m, b.mask(k))
}

func (b *bitmap) open(string, string) {}
func (b *bitmap) close()              {}

// scan puts a closed shape into the scanner.
func (b *bitmap) scan(o outline) {
	b.scanner.Clear()
	for _, part := range o.polylines(flatness) {
		b.scanner.Start(fixedPoint(part.points[0]))
		for _, p := range part.points[1:] {
			b.scanner.Add1(fixedPoint(p))
		}
		b.scanner.Add1(fixedPoint(part.points[0]))
	}
}

// strokePath is a line without repeated points. A closed one begins in the
// middle of a piece: the scanner's strokes have two ends, which meet there.
func strokePath(l polyline) raster.Path {
	points := l.points
	if l.closed && len(points) > 1 {
		first, last := points[0], points[len(points)-1]
		middle := point{(first.x + last.x) / 2, (first.y + last.y) / 2}
		if first == last {
			middle = point{(first.x + points[1].x) / 2, (first.y + points[1].y) / 2}
			points = points[1:]
		}
		points = append(append([]point{middle}, points...), middle)
	}
	path := make(raster.Path, 0, 4*len(points)) // four numbers a point
	path.Start(fixedPoint(points[0]))
	at := fixedPoint(points[0])
	for _, p := range points[1:] {
		if next := fixedPoint(p); next != at {
			path.Add1(next)
			at = next
		}
	}
	return path
}

// fixed26 is in 64ths of a pixel, kept where 32 bits hold the scanner's sums.
func fixed26(x float64) fixed.Int26_6 {
	const far = 1 << 16
	return fixed.Int26_6(math.Round(64 * max(-far, min(far, x))))
}

func fixedPoint(p point) fixed.Point26_6 {
	return fixed.Point26_6{X: fixed26(p.x), Y: fixed26(p.y)}
}

// rgba returns the image itself where it already has the form.
func rgba(img image.Image) *image.RGBA {
	if same, ok := img.(*image.RGBA); ok {
		return same
	}
	b := img.Bounds()
	made := image.NewRGBA(b)
	draw.Draw(made, b, img, b.Min, draw.Src)
	return made
}
