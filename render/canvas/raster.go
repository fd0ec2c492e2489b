package canvas

import (
	"image"
	"image/color"
	"image/draw"
)

// A bitmap is the device that draws pixels.
type bitmap struct {
	windows map[*clip]*window
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
	b := &bitmap{windows: map[*clip]*window{nil: newWindow(img, img.Rect)}, letters: newLetterer()}
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

func (b *bitmap) fill(o outline, ink color.NRGBA, k *clip) {
	if w := b.window(k); !w.empty() {
		w.SetColor(ink)
		w.fill(o)
	}
}

func (b *bitmap) stroke(o outline, p pen, k *clip) {
	if w := b.window(k); !w.empty() {
		w.stroke(o, p)
	}
}

// text fills the outlines of letters: gg's own text is blurred where it is
// turned. It fills word by word, since the time that a fill takes grows with the
// square of the edges on a line of picture elements.
func (b *bitmap) text(t lettering, ink color.NRGBA, k *clip) {
	for _, word := range b.letters.words(t) {
		b.fill(word, ink, k)
	}
}

func (b *bitmap) picture(img image.Image, m affine, k *clip) {
	b.window(k).blit(rgba(img), m)
}

func (b *bitmap) open(string, string) {}
func (b *bitmap) close()              {}

// window opens the window of a clip once and keeps it.
func (b *bitmap) window(k *clip) *window {
	if known, ok := b.windows[k]; ok {
		return known
	}
	w := b.window(k.outer).within(k.o)
	b.windows[k] = w
	return w
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
