package film_test

import (
	"bytes"
	"image"
	"image/png"
	"testing"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/internal/figtest"
	"calotte/render/paper"
)

// A frame of the example looks as it did when it was looked at.
func TestFilmPicture(t *testing.T) {
	discard := keep
	defer func() { keep = discard }()
	keep = func(frame []byte, name string) error {
		if name != "frame-1.png" {
			return nil // the same ground, with other maps
		}
		img, err := png.Decode(bytes.NewReader(frame))
		if err == nil {
			figtest.CheckGolden(t, "frame.png", pictured{img})
		}
		return err
	}
	ExampleFilm_Compose()
}

// pictured shows an image as a figure, pixel for pixel at 300 dots per inch.
type pictured struct{ img image.Image }

func (p pictured) Title() string       { return "" }
func (p pictured) Description() string { return "" }
func (p pictured) Size() (width, height vg.Length) {
	size := p.img.Bounds().Size()
	return paper.Pixel * vg.Length(size.X), paper.Pixel * vg.Length(size.Y)
}
func (p pictured) Draw(c canvas.Canvas) {
	width, height := p.Size()
	c.DrawImage(vg.Rectangle{Max: vg.Point{X: width, Y: height}}, p.img)
}
