package canvas

import (
	"image"
	"math"

	"golang.org/x/image/draw"
	"golang.org/x/image/math/f64"
)

// blit draws src on the unit square carried through m. Where its pixels fall
// on those of the page they are copied, else it is scaled or turned with linear
// interpolation between its pixels.
func (w *window) blit(src *image.RGBA, m affine) {
	m = m.after(affine{a: 1, d: -1, f: 1}) // images have y down
	size := src.Bounds().Size()
	at := image.Pt(int(math.Round(m.e)), int(math.Round(m.f)))
	if m.upright() && near(m.a, size.X) && near(m.d, size.Y) && near(m.e, at.X) && near(m.f, at.Y) {
		w.overlay(src, at)
		return
	}
	r := pixelBounds(unitSquare(m), w.r)
	if r.Empty() {
		return
	}
	scaled := image.NewRGBA(r)
	if m.upright() && m.a > 0 && m.d > 0 {
		to := image.Rect(at.X, at.Y, int(math.Round(m.e+m.a)), int(math.Round(m.f+m.d)))
		draw.BiLinear.Scale(scaled, to, src, src.Bounds(), draw.Src, nil)
	} else {
		dx, dy, b := 1/float64(size.X), 1/float64(size.Y), src.Bounds().Min
		t := m.after(affine{a: dx, d: dy, e: -dx * float64(b.X), f: -dy * float64(b.Y)})
		draw.BiLinear.Transform(scaled, f64.Aff3{t.a, t.c, t.e, t.b, t.d, t.f}, src, src.Bounds(), draw.Src,
			nil)
	}
	w.overlay(scaled, r.Min)
}

// refined returns an image with at least as many pixels as the unit square
// carried through m has in dots, interpolated between its own. For formats
// whose readers show pixels as blocks.
func refined(src *image.RGBA, m affine, dotsPerUnit float64) *image.RGBA {
	size := src.Bounds().Size()
	w := max(size.X, int(math.Round(math.Hypot(m.a, m.b)*dotsPerUnit)))
	h := max(size.Y, int(math.Round(math.Hypot(m.c, m.d)*dotsPerUnit)))
	if w == size.X && h == size.Y || w*h > 1<<26 {
		return src
	}
	made := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.BiLinear.Scale(made, made.Rect, src, src.Bounds(), draw.Src, nil)
	return made
}

// near allows for the rounding of lengths in points, far below what shows.
func near(x float64, n int) bool { return math.Abs(x-float64(n)) < 1e-3 }

// overlay lays src on the page with its upper left corner at a pixel.
func (w *window) overlay(src *image.RGBA, at image.Point) {
	b := src.Bounds()
	r := b.Add(at.Sub(b.Min)).Intersect(w.r)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		i := w.page.PixOffset(r.Min.X, y)
		j := src.PixOffset(r.Min.X-at.X+b.Min.X, y-at.Y+b.Min.Y)
		n := 4 * r.Dx()
		overlayRow(w.page.Pix[i:i+n], src.Pix[j:j+n], w.row(y, r.Min.X, r.Max.X))
	}
}

// overlayRow copies what is opaque and inside, as almost all of a map is.
func overlayRow(to, from, limit []uint8) {
	for i := 0; i+3 < len(to) && i+3 < len(from); i += 4 {
		l := uint8(255)
		if limit != nil {
			l = limit[i/4]
		}
		pixel := from[i : i+4 : i+4]
		switch {
		case l == 0:
		case l == 255 && pixel[3] == 255:
			copy(to[i:i+4], pixel)
		case l == 255:
			over(to[i:i+4:i+4], [4]uint8(pixel))
		default:
			over(to[i:i+4:i+4], [4]uint8{product(pixel[0], l), product(pixel[1], l), product(pixel[2], l),
				product(pixel[3], l)})
		}
	}
}

// product of two shares of 255, rounded.
func product(a, b uint8) uint8 {
	p := uint32(a)*uint32(b) + 128
	return uint8((p + p>>8) >> 8)
}

// over lays a premultiplied colour on a pixel.
func over(pix []uint8, c [4]uint8) {
	_ = pix[3]
	switch c[3] {
	case 0:
	case 255:
		pix[0], pix[1], pix[2], pix[3] = c[0], c[1], c[2], c[3]
	default:
		rest := 255 - c[3]
		pix[0] = c[0] + product(pix[0], rest)
		pix[1] = c[1] + product(pix[1], rest)
		pix[2] = c[2] + product(pix[2], rest)
		pix[3] = c[3] + product(pix[3], rest)
	}
}
