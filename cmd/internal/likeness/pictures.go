package likeness

import (
	"bytes"
	"cmp"
	"image"
	"image/color"
	"io"
	"iter"
	"slices"

	"calotte/cmd/internal/console"
	"calotte/render/canvas"
)

const (
	// mostLevels is how far a colour may be off, of 255: where a line or
	// the edge of a colour passes between dots that it covered by half, a
	// dot may take the next colour of the scale.
	mostLevels = 16
	// mostPixels is the share of dots that may be off.
	mostPixels = 1e-3
)

// pictures compares files of dots: what is said of the pictures, then each of
// them.
func (c *comparison) pictures(old, again io.ReaderAt, oldSize, againSize int64) error {
	next, stop := iter.Pull2(canvas.Parts(old, oldSize))
	defer stop()
	for b, err := range canvas.Parts(again, againSize) {
		if err != nil {
			return err
		}
		a, err, ok := next()
		switch {
		case err != nil:
			return differs("it is damaged: %v", err)
		case !ok || a.Kind != b.Kind:
			return differs("the file is made of other parts than now: %s stands where %s does",
				cmp.Or(console.Echo(a.Kind), "nothing"), b.Kind)
		case a.Size != b.Size:
			return differs("a picture of %v dots, and now %v", a.Size, b.Size)
		case b.Picture != nil:
			if !bytes.Equal(a.Data, b.Data) || a.Data == nil {
				if err := c.picture(a, b); err != nil {
					return err
				}
			}
		case b.Provenance() != nil:
			if err := c.record(a.Provenance(), b.Provenance()); err != nil {
				return err
			}
		case !bytes.Equal(a.Data, b.Data) && !c.text(string(a.Data), string(b.Data)):
			return differs("what is said of the picture differs (%s)", b.Kind)
		}
	}
	if _, err, more := next(); more && err == nil {
		return differs("it holds more pictures than are made now")
	}
	return nil
}

func (c *comparison) picture(before, now canvas.Part) error {
	b, err := now.Picture()
	if err != nil {
		return err
	}
	a, err := before.Picture()
	if err != nil {
		return differs("a picture is damaged: %v", err)
	}
	if a.Bounds() != b.Bounds() {
		return differs("a picture of %v, and now %v", a.Bounds().Size(), b.Bounds().Size())
	}
	return c.dots(levelsOf(a, b), b.Bounds().Dx()*b.Bounds().Dy())
}

// dots takes the differences of a picture's dots, each the largest of its
// colours.
func (c *comparison) dots(levels iter.Seq[int], among int) error {
	count, most := 0, 0
	for l := range levels {
		if l > 0 {
			count++
			most = max(most, l)
		}
	}
	c.pixels, c.among, c.levels = c.pixels+count, c.among+among, max(c.levels, most)
	if most > mostLevels || float64(count) > mostPixels*float64(among) {
		return differs("%d of %d pixels differ, by up to %d of 255", count, among, most)
	}
	return nil
}

// levelsOf yields by how much dots differ.
func levelsOf(a, b image.Image) iter.Seq[int] {
	if x, y := bytesOf(a), bytesOf(b); x != nil && len(x) == len(y) {
		return apart(x, y, 4)
	}
	if a, ok := a.(*image.Paletted); ok {
		if b, ok := b.(*image.Paletted); ok && slices.Equal(a.Palette, b.Palette) {
			return func(yield func(int) bool) {
				for i, index := range b.Pix {
					if l := 0; index != a.Pix[i] {
						l = between(a.Palette[a.Pix[i]], b.Palette[index])
						if !yield(l) {
							return
						}
					}
				}
			}
		}
	}
	return func(yield func(int) bool) {
		for y := b.Bounds().Min.Y; y < b.Bounds().Max.Y; y++ {
			for x := b.Bounds().Min.X; x < b.Bounds().Max.X; x++ {
				if !yield(between(a.At(x, y), b.At(x, y))) {
					return
				}
			}
		}
	}
}

// bytesOf are the bytes of a picture of four a dot.
func bytesOf(img image.Image) []byte {
	switch img := img.(type) {
	case *image.RGBA:
		return img.Pix
	case *image.NRGBA:
		return img.Pix
	}
	return nil
}

// apart yields the largest difference of some bytes a dot.
func apart(a, b []byte, each int) iter.Seq[int] {
	return func(yield func(int) bool) {
		for i := 0; i+each <= len(b); i += each {
			most := 0
			for k := i; k < i+each; k++ {
				d := int(a[k]) - int(b[k])
				most = max(most, d, -d)
			}
			if !yield(most) {
				return
			}
		}
	}
}

func between(a, b color.Color) int {
	p, q := color.RGBAModel.Convert(a).(color.RGBA), color.RGBAModel.Convert(b).(color.RGBA)
	most := 0
	for l := range apart([]byte{p.R, p.G, p.B, p.A}, []byte{q.R, q.G, q.B, q.A}, 4) {
		most = l
	}
	return most
}
