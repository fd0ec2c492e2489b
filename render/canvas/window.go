package canvas

import (
	"image"

	"github.com/fogleman/gg"
)

// A window is the part of the page that a clip leaves, and draws on it. Its
// context sees the window's pixels only, from (0, 0) on, so that a mask has
// the size of the window rather than that of the page.
type window struct {
	*gg.Context
	page *image.RGBA
	r    image.Rectangle // on the page
	mask *image.Alpha    // over the window, from (0, 0) on; nil: all of it
}

// newWindow opens a rectangle of the page, all of which shows.
func newWindow(page *image.RGBA, r image.Rectangle) *window {
	part := page.SubImage(r).(*image.RGBA)
	part.Rect = image.Rectangle{Max: r.Size()}
	w := &window{Context: gg.NewContextForRGBA(part), page: page, r: r}
	w.SetLineCapButt()
	w.SetLineJoinRound()
	return w
}

func (w *window) empty() bool { return w.r.Empty() }

// within is the window behind another clip inside this one, and a pixel more
// on each side: what reaches in from outside is wrong in the first row and
// column of gg's images, since it counts pixels towards zero.
func (w *window) within(o outline) *window {
	in := newWindow(w.page, pixelBounds(o.bounds().grown(1), w.r))
	if in.empty() {
		return in
	}
	shape := newWindow(image.NewRGBA(in.r), in.r)
	shape.SetRGB(0, 0, 0)
	shape.fill(o)
	mask := image.NewAlpha(image.Rectangle{Max: in.r.Size()})
	for y := range in.r.Dy() {
		row := mask.Pix[y*mask.Stride:][:in.r.Dx()]
		pix := shape.page.Pix[y*shape.page.Stride:]
		for x := range row {
			row[x] = pix[4*x+3]
		}
		for x, limit := range w.row(in.r.Min.Y+y, in.r.Min.X, in.r.Max.X) {
			row[x] = product(row[x], limit)
		}
	}
	in.mask = mask
	if err := in.SetMask(mask); err != nil {
		panic(err) // it has the size of the window
	}
	return in
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

// row returns how far the pixels x0 to x1 of the page's row y show, nil for
// fully.
func (w *window) row(y, x0, x1 int) []uint8 {
	if w.mask == nil {
		return nil
	}
	i := w.mask.PixOffset(x0-w.r.Min.X, y-w.r.Min.Y)
	return w.mask.Pix[i : i+x1-x0]
}
