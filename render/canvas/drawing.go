package canvas

import (
	"errors"
	"fmt"
	"image"
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// A device is one output format. Everything reaches it in its own
// coordinates, with nothing left to transform.
type device interface {
	fill(o outline, ink color.NRGBA, k *clip)
	stroke(o outline, p pen, k *clip)
	text(t lettering, ink color.NRGBA, k *clip)
	// picture draws an image on the unit square carried through m; the
	// square's origin is the image's lower left corner.
	picture(img image.Image, m affine, k *clip)
	open(id, title string)
	close()
}

type pen struct {
	ink    color.NRGBA
	width  float64
	dash   []float64
	offset float64
}

// A lettering is a line of text: m carries the coordinates of a face of size
// 1, x along the baseline and y up, to the device's.
type lettering struct {
	text string
	bold bool
	m    affine
}

// A clip is one limit of the drawing area; what lies outside of any limit in
// the chain of outer ones is not drawn.
type clip struct {
	o     outline
	outer *clip
}

type state struct {
	m      affine
	width  vg.Length
	dash   []vg.Length
	offset vg.Length
	ink    color.NRGBA
	clip   *clip
}

// A drawing is the Canvas of every format: it keeps the states, transforms
// and checks, and hands the rest to a device.
type drawing struct {
	state
	stack  []state
	dev    device
	base   affine // from points, y up, to the device's coordinates
	grid   affine // from points, y up, to pixels, y down
	groups int
	err    error
}

const (
	pointsPerInch = 72
	dpi           = 300
)

// newDrawing begins a drawing of the given height in points; base is the
// device's, resolution in dots per inch.
func newDrawing(dev device, base affine, height, resolution float64) *drawing {
	return &drawing{
		state: state{m: identity, width: 1, ink: color.NRGBA{A: 255}},
		dev:   dev,
		base:  base,
		grid:  downward(height, resolution/pointsPerInch),
	}
}

// downward maps points from the lower left corner, y up, to units from the
// upper left corner, y down.
func downward(height, unitsPerPoint float64) affine {
	return affine{a: unitsPerPoint, d: -unitsPerPoint, f: height * unitsPerPoint}
}

// render draws the whole figure and reports what went wrong.
func (d *drawing) render(f Figure) error {
	f.Draw(d)
	switch {
	case d.err != nil:
		return d.err
	case len(d.stack) > 0:
		return fmt.Errorf("the figure has %d Push without a Pop", len(d.stack))
	case d.groups > 0:
		return fmt.Errorf("the figure has %d Group without an End", d.groups)
	}
	return nil
}

func (d *drawing) fail(err error) {
	if d.err == nil {
		d.err = err
	}
}

var errNotFinite = errors.New("a path, a text or an image has a coordinate that is not finite")

// on carries a path to the device; nil when there is nothing to draw.
func (d *drawing) on(p vg.Path) outline {
	o, ok := trace(p, d.base.after(d.m))
	if !ok {
		d.fail(errNotFinite)
	}
	return o
}

func (d *drawing) SetLineWidth(w vg.Length) { d.width = w }

// SetLineDash ignores a pattern that cannot advance along the line.
func (d *drawing) SetLineDash(pattern []vg.Length, offset vg.Length) {
	var sum vg.Length
	for _, l := range pattern {
		if !(l >= 0) {
			pattern = nil
			break
		}
		sum += l
	}
	if !(sum > 0) || math.IsInf(float64(sum), 0) {
		pattern = nil
	}
	d.dash, d.offset = slices.Clone(pattern), offset
}

func (d *drawing) SetColor(c color.Color) {
	if c == nil {
		c = color.Black
	}
	d.ink = color.NRGBAModel.Convert(c).(color.NRGBA)
}

func (d *drawing) Rotate(rad float64) {
	sin, cos := math.Sincos(rad)
	d.m = d.m.after(affine{a: cos, b: sin, c: -sin, d: cos})
}

func (d *drawing) Translate(p vg.Point) {
	d.m = d.m.after(affine{a: 1, d: 1, e: float64(p.X), f: float64(p.Y)})
}

func (d *drawing) Scale(x, y float64) { d.m = d.m.after(affine{a: x, d: y}) }

func (d *drawing) Push() { d.stack = append(d.stack, d.state) }

func (d *drawing) Pop() {
	if len(d.stack) == 0 {
		d.fail(errors.New("the figure has a Pop without a Push"))
		return
	}
	last := len(d.stack) - 1
	d.state, d.stack = d.stack[last], d.stack[:last]
}

func (d *drawing) Stroke(p vg.Path) {
	scale := d.base.after(d.m).scale()
	width := float64(d.width) * scale
	if !(width > 0) || d.ink.A == 0 {
		return
	}
	dash := make([]float64, len(d.dash))
	for i, l := range d.dash {
		dash[i] = float64(l) * scale
	}
	if o := d.on(p); len(o) > 0 {
		d.dev.stroke(o, pen{d.ink, width, dash, float64(d.offset) * scale}, d.clip)
	}
}

func (d *drawing) Fill(p vg.Path) {
	if d.ink.A == 0 {
		return
	}
	if o := d.on(p); len(o) > 0 {
		d.dev.fill(o, d.ink, d.clip)
	}
}

// FillString draws with Sans in the size and weight of f.
func (d *drawing) FillString(f font.Face, p vg.Point, text string) {
	size := float64(f.Font.Size)
	text = printable(text)
	if !(size > 0) || text == "" || d.ink.A == 0 {
		return
	}
	m := d.base.after(d.m).after(affine{a: size, d: size, e: float64(p.X), f: float64(p.Y)})
	if !m.at(point{}).finite() || !m.at(point{1, 1}).finite() {
		d.fail(errNotFinite)
		return
	}
	d.dev.text(lettering{text: text, bold: bold(f), m: m}, d.ink, d.clip)
}

func (d *drawing) DrawImage(r vg.Rectangle, img image.Image) {
	if img == nil || img.Bounds().Empty() || r.Min.X == r.Max.X || r.Min.Y == r.Max.Y {
		return
	}
	size := r.Size()
	m := d.base.after(d.m).after(affine{
		a: float64(size.X), d: float64(size.Y), e: float64(r.Min.X), f: float64(r.Min.Y),
	})
	if !m.at(point{}).finite() || !m.at(point{1, 1}).finite() {
		d.fail(errNotFinite)
		return
	}
	d.dev.picture(img, m, d.clip)
}

func (d *drawing) Group(id, title string) {
	d.groups++
	d.dev.open(id, title)
}

func (d *drawing) End() {
	if d.groups == 0 {
		d.fail(errors.New("the figure has an End without a Group"))
		return
	}
	d.groups--
	d.dev.close()
}

// Clip with an empty path leaves nothing to draw on.
func (d *drawing) Clip(p vg.Path) {
	d.clip = &clip{o: d.on(p), outer: d.clip}
}

func (d *drawing) Pixels(r vg.Rectangle) (vg.Rectangle, image.Point) {
	m := d.grid.after(d.m)
	a, b := m.vg(r.Min), m.vg(r.Max)
	if !m.upright() || !a.finite() || !b.finite() || m.a == 0 || m.d == 0 {
		s := r.Size()
		return r, image.Pt(whole(float64(s.X)*m.scale()), whole(float64(s.Y)*m.scale()))
	}
	// A thousandth of a pixel is rounding, not reach.
	const slack = 1e-3
	x0, x1 := math.Floor(min(a.x, b.x)+slack), math.Ceil(max(a.x, b.x)-slack)
	y0, y1 := math.Floor(min(a.y, b.y)+slack), math.Ceil(max(a.y, b.y)-slack)
	size := image.Pt(int(x1-x0), int(y1-y0))
	x0, x1, y0, y1 = (x0-m.e)/m.a, (x1-m.e)/m.a, (y0-m.f)/m.d, (y1-m.f)/m.d
	return vg.Rectangle{
		Min: vg.Point{X: vg.Length(min(x0, x1)), Y: vg.Length(min(y0, y1))},
		Max: vg.Point{X: vg.Length(max(x0, x1)), Y: vg.Length(max(y0, y1))},
	}, size
}

func whole(x float64) int {
	if !(x > 0) || math.IsInf(x, 0) {
		return 0
	}
	return int(math.Ceil(x))
}
