package canvas

import (
	"image"
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"

	"calotte/topo/provenance"
)

// trial holds one of everything that a canvas can draw.
type trial struct{}

func (trial) Size() (width, height vg.Length) { return 240, 168 }
func (trial) Title() string                   { return "Trial <sheet> & “all”" }
func (trial) Description() string             { return "One of everything: −2.1 µV, √λ." }

func at(x, y float64) vg.Point { return vg.Point{X: vg.Length(x), Y: vg.Length(y)} }

func rectangle(x0, y0, x1, y1 float64) (p vg.Path) {
	p.Move(at(x0, y0))
	p.Line(at(x1, y0))
	p.Line(at(x1, y1))
	p.Line(at(x0, y1))
	p.Close()
	return p
}

func circle(x, y, r float64) (p vg.Path) {
	p.Arc(at(x, y), vg.Length(r), 0, 2*math.Pi)
	p.Close()
	return p
}

func (t trial) Draw(c Canvas) {
	c.Group("text", "Text")
	t.text(c)
	c.End()
	c.Group("lines", "Lines & curves")
	t.lines(c)
	c.End()
	c.Group("fields", "Clipped fields")
	t.fields(c)
	c.End()
}

func (trial) text(c Canvas) {
	c.FillString(Sans(9, true), at(8, 152), "Known minus novel")
	c.FillString(Sans(7, false), at(8, 140), "−2.1 µV at P7–P8, √λ ± 3, 170 ms <&>")
	c.SetColor(color.NRGBA{R: 0x9c, G: 0x2f, B: 0x1a, A: 255})
	c.Push()
	c.Translate(at(14, 70))
	c.Rotate(math.Pi / 2)
	c.FillString(Sans(7, false), at(0, 0), "amplitude (µV)")
	c.Pop()
	c.Push()
	c.Translate(at(190, 120))
	c.Rotate(-math.Pi / 6)
	c.Scale(1.5, 1.5)
	c.FillString(Sans(7, true), at(0, 0), "turned")
	c.Pop()
	c.Push()
	c.Translate(at(228, 66))
	c.Scale(-1.5, 1)
	c.FillString(Sans(7, false), at(0, 0), "mirror")
	c.Pop()
}

func (trial) lines(c Canvas) {
	c.SetColor(color.NRGBA{R: 0x20, G: 0x40, B: 0x80, A: 255})
	var wave vg.Path
	wave.Move(at(25, 100))
	wave.CubeTo(at(45, 140), at(55, 60), at(75, 100))
	wave.QuadTo(at(90, 130), at(105, 100))
	c.SetLineWidth(1.2)
	c.Stroke(wave)
	c.Push()
	c.Translate(at(0, -14))
	c.SetLineDash([]vg.Length{4, 2, 1, 2}, 1)
	c.SetLineWidth(0.8)
	c.Stroke(wave)
	c.Pop()
	c.SetLineDash(nil, 0)
	c.SetColor(color.NRGBA{R: 0xc0, G: 0x30, B: 0x20, A: 128})
	c.SetLineWidth(4)
	var corner vg.Path
	corner.Move(at(120, 85))
	corner.Line(at(135, 125))
	corner.Line(at(150, 85))
	corner.Close()
	c.Stroke(corner)
	c.Fill(rectangle(135, 95, 165, 112))
	c.SetColor(color.Black)
	c.SetLineWidth(0.25)
	c.Stroke(circle(180, 100, 8))
	var arc vg.Path
	arc.Move(at(180, 100))
	arc.Arc(at(180, 100), 14, 0.3, -2)
	arc.Close()
	c.SetLineWidth(0.75)
	c.Stroke(arc)
	var flag vg.Path
	flag.Line(at(205, 88))
	flag.Line(at(215, 88))
	flag.QuadTo(at(215, 96), at(205, 96))
	flag.Close()
	flag.Line(at(230, 80))
	c.Stroke(flag)
}

func (t trial) fields(c Canvas) {
	frame := vg.Rectangle{Min: at(25, 12), Max: at(85, 72)}
	exact, size := c.Pixels(frame)
	c.Push()
	c.Clip(circle(55, 42, 30))
	c.DrawImage(exact, gradient(size.X, size.Y))
	c.Push()
	c.Clip(rectangle(25, 30, 85, 50))
	c.SetColor(color.NRGBA{A: 90})
	c.Fill(circle(70, 30, 20))
	c.Pop()
	c.SetLineWidth(1)
	c.Stroke(circle(40, 60, 14))
	c.Pop()
	c.SetLineWidth(0.5)
	c.Stroke(circle(55, 42, 30))
	c.DrawImage(vg.Rectangle{Min: at(95, 14), Max: at(103, 70)}, gradient(1, 64))
	c.Push()
	c.Translate(at(120, 20))
	c.Rotate(0.4)
	c.DrawImage(vg.Rectangle{Max: at(50, 40)}, checks())
	c.Pop()
	c.DrawImage(vg.Rectangle{Min: at(185, 15), Max: at(230, 60)}, checks())
	c.Push()
	c.Translate(at(182, 15))
	c.Scale(-1, 1)
	c.DrawImage(vg.Rectangle{Max: at(10, 10)}, checks())
	c.Pop()
}

// gradient is opaque, light to dark downwards in bands, with a red corner at
// the upper right.
func gradient(w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			v := uint8(255 - 15*(16*y/h))
			img.SetRGBA(x, y, color.RGBA{v, v, uint8(15 * (16 * x / w)), 255})
		}
	}
	for i := range min(w, h) / 4 {
		img.SetRGBA(w-1-i, i, color.RGBA{255, 0, 0, 255})
	}
	return img
}

// checks are transparent in one corner.
func checks() *image.NRGBA {
	img := image.NewNRGBA(image.Rect(3, 5, 9, 11))
	for y := range 6 {
		for x := range 6 {
			c := color.NRGBA{G: uint8(120 * ((x + y) % 2)), B: 200, A: uint8(255 - 20*(x+y))}
			img.SetNRGBA(3+x, 5+y, c)
		}
	}
	img.SetNRGBA(3, 5, color.NRGBA{R: 255, A: 255})
	return img
}

func trialProvenance() provenance.Record {
	return provenance.Record{
		Program: "calotte", Version: "0.1.0", Work: "map",
		Settings: map[string]string{"at": "170ms", "limit": "8µV"},
		Inputs:   []provenance.Source{{Name: "sub-07 <known>.tsv", SHA256: "00ff"}},
	}
}
