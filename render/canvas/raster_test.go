package canvas

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"gonum.org/v1/plot/cmpimg"
	"gonum.org/v1/plot/vg"
)

func drawn(t testing.TB, f Figure, resolution float64) *image.RGBA {
	t.Helper()
	img, err := Raster(f, resolution)
	if err != nil {
		t.Fatal(err)
	}
	return img
}

const goldens = "../../testdata/canvas"

func TestRasterLooksAsBefore(t *testing.T) {
	var got bytes.Buffer
	if err := encodePNG(&got, drawn(t, trial{}, 150), 150, nil); err != nil {
		t.Fatal(err)
	}
	if *keep != "" {
		if err := os.WriteFile(filepath.Join(*keep, "trial.png"), got.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(filepath.Join(goldens, "trial.png"))
	if err != nil {
		t.Fatal(err)
	}
	if same, err := cmpimg.EqualApprox("png", got.Bytes(), want, 0.01); !same || err != nil {
		t.Errorf("the trial figure differs from its picture (error %v)", err)
	}
}

// Other programs' renderings of the trial figure's SVG and PDF, made by
// testdata/canvas/render.sh, look like the raster.
func TestFormatsLookAlike(t *testing.T) {
	got := drawn(t, trial{}, 150)
	for _, name := range []string{"trial-librsvg.png", "trial-poppler.png"} {
		file, err := os.Open(filepath.Join(goldens, name))
		if err != nil {
			t.Fatal(err)
		}
		defer file.Close()
		want, err := png.Decode(file)
		if err != nil {
			t.Fatal(err)
		}
		sum, far, n := 0.0, 0, 0
		for y := range got.Rect.Max.Y {
			for x := range got.Rect.Max.X {
				d := difference(got.RGBAAt(x, y), color.RGBAModel.Convert(want.At(x, y)).(color.RGBA))
				sum += d
				n++
				if d > 80 {
					far++
				}
			}
		}
		mean, share := sum/float64(n), float64(far)/float64(n)
		t.Logf("%s: mean difference %.2f of 255, %.2f %% of the pixels differ by more than 80", name, mean,
			100*share)
		if mean > 2 || share > 0.01 {
			t.Errorf("%s: mean difference %.2f of 255, %.2f %% of the pixels differ by more than 80", name,
				mean,
				100*share)
		}
	}
}

// difference is the largest of the channels'.
func difference(a, b color.RGBA) float64 {
	d := func(x, y uint8) float64 { return math.Abs(float64(x) - float64(y)) }
	return max(d(a.R, b.R), d(a.G, b.G), d(a.B, b.B))
}

func TestPixelsAreCopied(t *testing.T) {
	want := gradient(37, 23)
	for _, resolution := range []float64{72, 100, 300} {
		var size image.Point
		img := drawn(t, sketch{91.3, 77.7, "", func(c Canvas) {
			c.Translate(at(3.3, 5.1))
			c.Scale(1.25, 1.25)
			scale := vg.Length(1.25 * resolution / 72)
			frame := vg.Rectangle{Min: at(10.3, 8.9),
				Max: at(10.3, 8.9).Add(vg.Point{X: 36.4 / scale, Y: 22.4 / scale})}
			var exact vg.Rectangle
			if exact, size = c.Pixels(frame); size != want.Rect.Max {
				// One more where the frame's fractions fall so:
				// still exact.
				want = gradient(size.X, size.Y)
			}
			if exact.Min.X > frame.Min.X+1e-3 || exact.Min.Y > frame.Min.Y+1e-3 ||
				exact.Max.X < frame.Max.X-1e-3 ||
				exact.Max.Y < frame.Max.Y-1e-3 {
				t.Errorf("%v dpi: %v does not hold %v", resolution, exact, frame)
			}
			c.DrawImage(exact, want)
		}}, resolution)
		if !holds(img, want) {
			t.Errorf("%v dpi: the image of %v pixels is not in the raster as it was", resolution, size)
		}
	}
}

func TestPixelsWithoutAGrid(t *testing.T) {
	frame := vg.Rectangle{Max: at(24, 12)}
	drawn(t, sketch{72, 72, "", func(c Canvas) {
		c.Push()
		c.Rotate(0.3)
		if r, size := c.Pixels(frame); r != frame || size != image.Pt(100, 50) {
			t.Errorf("turned: %v, %v pixels", r, size)
		}
		c.Pop()
		c.Push()
		c.Scale(0, 1)
		if r, size := c.Pixels(frame); r != frame || size != (image.Point{}) {
			t.Errorf("flattened: %v, %v pixels", r, size)
		}
		c.Pop()
	}}, 300)
}

// holds looks for an image in a white raster.
func holds(img, part *image.RGBA) bool {
	for y := range img.Rect.Max.Y - part.Rect.Max.Y {
		for x := range img.Rect.Max.X - part.Rect.Max.X {
			same := true
			for row := 0; row < part.Rect.Max.Y && same; row++ {
				i, n := img.PixOffset(x, y+row), 4*part.Rect.Max.X
				same = bytes.Equal(img.Pix[i:i+n], part.Pix[row*part.Stride:row*part.Stride+n])
			}
			if same {
				return true
			}
		}
	}
	return false
}

// dark is the area covered by black ink, in square points.
func dark(img *image.RGBA, resolution float64) float64 {
	sum := 0.0
	for i := 0; i < len(img.Pix); i += 4 {
		sum += 1 - float64(img.Pix[i])/255
	}
	return sum * (72 / resolution) * (72 / resolution)
}

func TestAreas(t *testing.T) {
	var wedge vg.Path
	wedge.Move(at(36, 36))
	wedge.Arc(at(36, 36), 20, 0.5, -2.5)
	wedge.Close()
	ring := append(circle(36, 36, 20), reversed(36, 36, 10)...)
	for _, row := range []struct {
		name string
		draw func(c Canvas)
		want float64
	}{
		{"disk", func(c Canvas) { c.Fill(circle(36, 36, 20)) }, math.Pi * 400},
		{"wedge", func(c Canvas) { c.Fill(wedge) }, 2.5 / 2 * 400},
		{"ring by winding", func(c Canvas) { c.Fill(ring) }, math.Pi * 300},
		{"line round", func(c Canvas) { c.SetLineWidth(2); c.Stroke(circle(36, 36, 20)) },
			2 * math.Pi * 20 * 2},
		{"dashes", func(c Canvas) {
			c.SetLineWidth(2)
			c.SetLineDash([]vg.Length{3, 1}, 1)
			c.Stroke(vg.Path{{Type: vg.MoveComp, Pos: at(10, 10)}, {Type: vg.LineComp, Pos: at(50, 10)}})
		}, 60},
		{"square's corners are round",
			func(c Canvas) { c.SetLineWidth(4); c.Stroke(rectangle(20, 20, 50, 50)) },
			4*120 - (4-math.Pi)*4},
		{"scaled line", func(c Canvas) {
			c.Scale(4, 1)
			c.SetLineWidth(1)
			c.Stroke(vg.Path{{Type: vg.MoveComp, Pos: at(1, 10)}, {Type: vg.LineComp, Pos: at(6, 10)}})
		}, 40},
		{"half ink", func(c Canvas) { c.SetColor(color.NRGBA{A: 128}); c.Fill(rectangle(10, 10, 40, 40)) },
			900 * 128.0 / 255},
		{"clipped", func(c Canvas) { c.Clip(rectangle(0, 0, 36, 72)); c.Fill(circle(36, 36, 20)) },
			math.Pi * 200},
		{"clipped twice", func(c Canvas) {
			c.Clip(rectangle(0, 0, 36, 72))
			c.Clip(circle(36, 36, 20))
			c.Fill(rectangle(0, 36, 72, 72))
		}, math.Pi * 100},
		{"far beyond the page", func(c Canvas) { c.Fill(rectangle(-1e9, -1e9, 1e9, 1e9)) }, 72 * 72},
	} {
		got := dark(drawn(t, sketch{72, 72, "", func(c Canvas) { c.Push(); row.draw(c); c.Pop() }}, 300), 300)
		if math.Abs(got-row.want) > 0.005*row.want {
			t.Errorf("%s: %.2f pt² are inked, want %.2f", row.name, got, row.want)
		}
	}
}

func reversed(x, y, r float64) (p vg.Path) {
	p.Move(at(x+r, y))
	p.Arc(at(x, y), vg.Length(r), 0, -2*math.Pi)
	p.Close()
	return p
}

// A closed line has no seam: its left half is the mirror of its right.
func TestClosedLineHasNoSeam(t *testing.T) {
	var triangle vg.Path
	triangle.Move(at(36, 60))
	triangle.Line(at(12, 12))
	triangle.Line(at(60, 12))
	triangle.Close()
	img := drawn(t, sketch{72, 72, "", func(c Canvas) { c.SetLineWidth(8); c.Stroke(triangle) }}, 72)
	for y := range 72 {
		for x := range 36 {
			if d := difference(img.RGBAAt(x, y), img.RGBAAt(71-x, y)); d > 8 {
				t.Fatalf("pixel %d, %d differs from its mirror image by %v", x, y, d)
			}
		}
	}
}
