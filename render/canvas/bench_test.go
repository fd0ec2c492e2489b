package canvas

import (
	"bytes"
	"fmt"
	"image"
	"io"
	"math"
	"sync"
	"testing"

	"gonum.org/v1/plot/vg"

	"calotte/render/palette"
	"calotte/topo/provenance"
)

// plate is the load of a sheet: ten smooth fields with contours in circles,
// 640 short labels, at 180 mm and 300 dots per inch 2126 × 1000 pixels.
type plate struct{}

func (plate) Size() (width, height vg.Length) { return 180 * vg.Millimeter, 240 }
func (plate) Title() string                   { return "Plate" }
func (plate) Description() string             { return "" }

func (plate) Draw(c Canvas) {
	for i := range 10 {
		x, y := 52+float64(i%5)*101, 65+float64(i/5)*115
		c.Push()
		c.Clip(circle(x, y, 46))
		r, size := c.Pixels(vg.Rectangle{Min: at(x-46, y-46), Max: at(x+46, y+46)})
		c.DrawImage(r, smoothField(size))
		c.SetLineWidth(0.4)
		for k := range 10 {
			if k%2 == 0 {
				c.SetLineDash([]vg.Length{2, 1}, 0)
			} else {
				c.SetLineDash(nil, 0)
			}
			c.Stroke(ripple(x+10, y-8, 4+5*float64(k)))
		}
		c.Pop()
		c.SetLineDash(nil, 0)
		c.SetLineWidth(0.8)
		c.Stroke(circle(x, y, 46))
		for k := range 64 {
			c.FillString(Sans(4, false), at(x-40+10*float64(k%8), y-38+10*float64(k/8)),
				fmt.Sprintf("P%d", k))
		}
	}
}

// ripple is a closed contour of 200 short pieces.
func ripple(x, y, r float64) (p vg.Path) {
	for i := range 200 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 200)
		wave := r * (1 + 0.1*math.Sin(6*math.Pi*float64(i)/200))
		if i == 0 {
			p.Move(at(x+wave*cos, y+wave*sin))
		} else {
			p.Line(at(x+wave*cos, y+wave*sin))
		}
	}
	p.Close()
	return p
}

// smoothField is computed once for each size: here the canvas is measured.
func smoothField(size image.Point) *image.RGBA {
	if known, ok := smoothFields.Load(size); ok {
		return known.(*image.RGBA)
	}
	img := image.NewRGBA(image.Rectangle{Max: size})
	for y := range size.Y {
		for x := range size.X {
			u, v := float64(x)/float64(size.X), float64(y)/float64(size.Y)
			img.SetRGBA(x, y, palette.Diverging.At(math.Sin(5*u+1)*math.Cos(4*v-1)))
		}
	}
	smoothFields.Store(size, img)
	return img
}

var smoothFields sync.Map

func BenchmarkEncodePNG(b *testing.B) {
	img, err := Raster(plate{}, dpi)
	if err != nil {
		b.Fatal(err)
	}
	var n bytes.Buffer
	for b.Loop() {
		n.Reset()
		if err := encodePNG(&n, img, dpi, nil); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(n.Len())/1000, "kB")
}

func BenchmarkRaster(b *testing.B) {
	for b.Loop() {
		if _, err := Raster(plate{}, dpi); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWrite(b *testing.B) {
	for _, f := range []Format{PNG, SVG, PDF} {
		b.Run(f.String(), func(b *testing.B) {
			for b.Loop() {
				if err := Write(io.Discard, plate{}, f, provenance.Record{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkFrame draws one map of 480 × 480 pixels, as in a film.
func BenchmarkFrame(b *testing.B) {
	figure := sketch{115.2, 115.2, "", func(c Canvas) {
		c.Push()
		c.Clip(circle(57.6, 57.6, 50))
		r, size := c.Pixels(vg.Rectangle{Min: at(7.6, 7.6), Max: at(107.6, 107.6)})
		c.DrawImage(r, smoothField(size))
		c.SetLineWidth(0.4)
		for k := range 10 {
			c.Stroke(ripple(67, 49, 4+5*float64(k)))
		}
		c.Pop()
		c.Stroke(circle(57.6, 57.6, 50))
		c.FillString(Sans(7, false), at(2, 2), "170 ms")
	}}
	var out bytes.Buffer
	for b.Loop() {
		out.Reset()
		if err := Write(&out, figure, PNG, provenance.Record{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(out.Len())/1000, "kB")
}
