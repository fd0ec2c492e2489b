package canvas

import (
	"image"
	"image/color"

	"github.com/golang/freetype/raster"
)

// A mask is the pixels a clip leaves. A nil alpha stands for all of r.
type mask struct {
	r     image.Rectangle
	alpha *image.Alpha
}

// row returns the coverage of the pixels x0 to x1 of row y, nil for full.
func (m mask) row(y, x0, x1 int) []uint8 {
	if m.alpha == nil {
		return nil
	}
	i := m.alpha.PixOffset(x0, y)
	return m.alpha.Pix[i : i+x1-x0]
}

// mask draws a clip once and keeps it.
func (b *bitmap) mask(k *clip) mask {
	if known, ok := b.masks[k]; ok {
		return known
	}
	outer := b.mask(k.outer)
	bounds := k.o.bounds()
	m := mask{r: pixelBounds(bounds, outer.r)}
	m.alpha = image.NewAlpha(m.r)
	b.scan(k.o)
	b.scanner.Rasterize(raster.PainterFunc(func(spans []raster.Span, _ bool) {
		for _, s := range spans {
			m.cover(s, outer)
		}
	}))
	b.masks[k] = m
	return m
}

// pixelBounds is the part of limit that b touches.
func pixelBounds(b box, limit image.Rectangle) image.Rectangle {
	if b.empty() {
		return image.Rectangle{}
	}
	in := b.within(box{float64(limit.Min.X), float64(limit.Min.Y), float64(limit.Max.X), float64(limit.Max.Y)})
	if in.empty() {
		return image.Rectangle{}
	}
	return image.Rect(int(in.x0), int(in.y0), whole(in.x1), whole(in.y1)).Intersect(limit)
}

func (m mask) cover(s raster.Span, outer mask) {
	x0, x1 := max(s.X0, m.r.Min.X), min(s.X1, m.r.Max.X)
	if s.Y < m.r.Min.Y || s.Y >= m.r.Max.Y || x0 >= x1 {
		return
	}
	row := m.row(s.Y, x0, x1)
	limit := outer.row(s.Y, x0, x1)
	alpha := uint8(s.Alpha >> 8)
	for i := range row {
		row[i] = alpha
		if limit != nil {
			row[i] = product(alpha, limit[i])
		}
	}
}

// product of two shares of 255, rounded.
func product(a, b uint8) uint8 {
	p := uint32(a)*uint32(b) + 128
	return uint8((p + p>>8) >> 8)
}

// A brush paints the scanner's spans in one colour.
type brush struct {
	img   *image.RGBA
	mask  mask
	ink   color.NRGBA
	solid [256][4]uint8 // the premultiplied colour by coverage
	known [256]bool
}

func newBrush(img *image.RGBA, ink color.NRGBA, m mask) *brush {
	return &brush{img: img, mask: m, ink: ink}
}

func (b *brush) Paint(spans []raster.Span, _ bool) {
	r := b.mask.r
	for _, s := range spans {
		x0, x1 := max(s.X0, r.Min.X), min(s.X1, r.Max.X)
		if s.Y < r.Min.Y || s.Y >= r.Max.Y || x0 >= x1 {
			continue
		}
		i := b.img.PixOffset(x0, s.Y)
		b.paint(b.img.Pix[i:i+4*(x1-x0)], uint8(s.Alpha>>8), b.mask.row(s.Y, x0, x1))
	}
}

func (b *brush) paint(pix []uint8, cover uint8, limit []uint8) {
	if limit == nil {
		ink := b.at(cover)
		for i := 0; i+3 < len(pix); i += 4 {
			over(pix[i:i+4:i+4], ink)
		}
		return
	}
	for i, l := range limit {
		if l != 0 {
			over(pix[4*i:4*i+4:4*i+4], b.at(product(cover, l)))
		}
	}
}

// at returns the colour under a coverage, premultiplied.
func (b *brush) at(cover uint8) [4]uint8 {
	if !b.known[cover] {
		a := product(b.ink.A, cover)
		b.solid[cover] = [4]uint8{product(b.ink.R, a), product(b.ink.G, a), product(b.ink.B, a), a}
		b.known[cover] = true
	}
	return b.solid[cover]
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
