package film

import (
	"fmt"
	"image"
	"image/color"
	"math"
	"runtime"
	"strings"
	"sync"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/palette"
	"calotte/render/paper"
	"calotte/render/scalp"
)

// The palette of frames: fieldLevels colours of the scale, each under inkSteps
// amounts of ink from none to all, so that lines are smooth over any colour;
// and the same amounts on white. Together they are 256.
const (
	fieldLevels = 63
	inkSteps    = 4
	firstGrey   = fieldLevels * inkSteps
)

// inkLight is the sum of the channels of ink.
var inkLight = func() int {
	r, g, b, _ := paper.Ink.RGBA()
	return int(r>>8 + g>>8 + b>>8)
}()

var (
	signedPalette     = sync.OnceValue(func() color.Palette { return filmPalette(palette.Diverging, -1) })
	sequentialPalette = sync.OnceValue(func() color.Palette { return filmPalette(palette.Sequential, 0) })
)

// filmPalette takes the colours of a scale from a value to 1.
func filmPalette(scale palette.Scale, from float64) color.Palette {
	var list color.Palette
	mixed := func(c color.RGBA, step int) color.RGBA {
		share := float64(step) / (inkSteps - 1)
		dark := color.RGBAModel.Convert(paper.Ink).(color.RGBA)
		part := func(a, b uint8) uint8 { return uint8(math.Round(float64(a) + share*(float64(b)-float64(a)))) }
		return color.RGBA{R: part(c.R, dark.R), G: part(c.G, dark.G), B: part(c.B, dark.B), A: 255}
	}
	for step := range inkSteps {
		for level := range fieldLevels {
			v := from + (1-from)*float64(level)/(fieldLevels-1)
			list = append(list, mixed(scale.At(v), step))
		}
	}
	for step := range inkSteps {
		list = append(list, mixed(color.RGBA{R: 255, G: 255, B: 255, A: 255}, step))
	}
	return list
}

// Palette is that of all frames.
func (p *Plate) Palette() color.Palette {
	if p.Scale.OneSided {
		return sequentialPalette()
	}
	return signedPalette()
}

// levels are a straight line from values in µV to indexes of the palette, to be
// cut off after rounding.
func (p *Plate) levels() (slope, zero float64) {
	if p.Scale.OneSided {
		return (fieldLevels - 1) / p.Scale.Limit, .5
	}
	const half = (fieldLevels - 1) / 2
	return half / p.Scale.Limit, half + .5
}

func workers() int { return runtime.GOMAXPROCS(0) }

// spans finds the rows of pixels inside the map and what is drawn over them.
func (s *showing) spans(p *Plate, lines, rims *image.RGBA) {
	f := s.frame
	top, bottom := int(float64(f.Center.Y-f.Front)), int(math.Ceil(float64(f.Center.Y+f.Front)))
	s.left = int(float64(f.Center.X - f.Right))
	for x := s.left; x <= int(math.Ceil(float64(f.Center.X+f.Right))); x++ {
		s.xs = append(s.xs, (float64(x)+.5-float64(f.Center.X))/float64(f.Right))
	}
	for y := top; y <= bottom; y++ {
		v := (float64(f.Center.Y) - float64(y) - .5) / float64(f.Front)
		row := filmRow{y: y, v: v, first: -1}
		for i, x := range s.xs {
			if x*x+v*v > 1 {
				continue
			}
			if row.first < 0 {
				row.first = i
			}
			pixel := y*p.Width + s.left + i
			over := fieldLevels * darkness(lines, pixel)
			if !s.reach.Shows(r2.Vec{X: x, Y: v}) {
				over = paperOver
			} else if over == 0 && darkness(rims, pixel) > inkSteps/2 {
				over = paleOver
			}
			row.over = append(row.over, over)
		}
		if row.first >= 0 {
			s.rows = append(s.rows, row)
		}
	}
}

// A filmRow is the pixels of one row inside a map: where they begin, and what
// is added to the index of the field's level for the lines that are drawn over
// it.
type filmRow struct {
	y     int
	v     float64 // on the disc
	first int
	over  []uint8
}

// paleOver marks the rim of an electrode, which covers the field, and paperOver
// where there is no field.
const (
	paleOver  = 255
	paperOver = 254
)

// draw draws frame k, which is number i of its block.
func (p *Plate) draw(img *image.Paletted, k, i int, fields []block) {
	copy(img.Pix, p.ground)
	for c, s := range p.shows {
		field := p.grid.Field(mat.Col(nil, i, fields[c].values)[:len(p.grid.Nodes)])
		s.paint(img, field, p)
		s.drawContours(img, field, p.Scale)
		if ratios := fields[c].ratios; ratios != nil {
			s.drawBoundary(img, p.grid.Field(mat.Col(nil, i, ratios)[:len(p.grid.Nodes)]),
				p.film.Boundary.Errors)
		}
		s.drawCursor(img, p, k)
		p.stamp.draw(img, stampText(p.film.Times[k]), int(inDots(filmMargin))+c*p.film.Side,
			int(inDots(filmMargin+paper.LineHeight+4)))
	}
}

// paint fills the map.
func (s *showing) paint(img *image.Paletted, field *scalp.Field, p *Plate) {
	r := scalp.NewRows(field, s.xs)
	slope, zero := p.levels()
	for _, row := range s.rows {
		r.MoveTo(row.v)
		line := img.Pix[row.y*img.Stride+s.left+row.first:][:len(row.over)]
		for i, over := range row.over {
			switch over {
			case paleOver:
				line[i] = uint8(zero) // nearly white
			case paperOver: // as the ground is
			default:
				line[i] = uint8(min(max(r.At(row.first+i)*slope+zero, 0), fieldLevels-1)) + over
			}
		}
	}
}

// drawContours draws the lines of the levels as maps have them: negative ones
// dashed, that of zero paler.
func (s *showing) drawContours(img *image.Paletted, field *scalp.Field, scale scalp.Scale) {
	levels := scale.Levels()
	for i, lines := range field.Contours(levels, 1, 1e-3*scale.Step) {
		lines = s.reach.Keep(lines)
		pen := pen{img: img, width: 1, opacity: .8, on: math.Inf(1)}
		switch {
		case levels[i] == 0:
			pen.width, pen.opacity = 1.3, .4
		case levels[i] < 0:
			pen.on, pen.off = inDots(2), inDots(1.4)
		}
		s.trace(&pen, lines)
	}
}

// trace draws lines with a pen.
func (s *showing) trace(pen *pen, lines []scalp.Line) {
	for _, line := range lines {
		pen.along = 0
		for k, at := range line.Points {
			if k > 0 {
				pen.line(s.pixel(line.Points[k-1]), s.pixel(at))
			}
		}
		if n := len(line.Points); line.Closed && n > 1 {
			pen.line(s.pixel(line.Points[n-1]), s.pixel(line.Points[0]))
		}
	}
}

// dotPitch is the distance between the dots of a film's stipple, in pixels.
const dotPitch = 5

// drawBoundary draws a pale line in a dark case where the field is a number of
// errors from zero, and dots over what is nearer.
func (s *showing) drawBoundary(img *image.Paletted, ratio *scalp.Field, errors float64) {
	r := scalp.NewRows(ratio, s.xs)
	for _, row := range s.rows {
		if row.y%dotPitch != 0 {
			continue
		}
		r.MoveTo(row.v)
		for i, over := range row.over {
			x := s.left + row.first + i
			shifted := x + dotPitch/2*(row.y/dotPitch%2)
			if shifted%dotPitch == 0 && over < paperOver && math.Abs(r.At(row.first+i)) < errors {
				dot := pen{img: img}
				dot.ink(row.y*img.Stride+x, 1)
			}
		}
	}
	lines := ratio.Contours([]float64{-errors, errors}, 1, 1e-3*errors)
	for _, pen := range []pen{{width: 3, opacity: 1}, {width: 1, pale: true}} {
		pen.img, pen.on = img, math.Inf(1)
		for _, of := range lines {
			s.trace(&pen, s.reach.Keep(of))
		}
	}
}

// pixel is where a point of the disc lies in the image.
func (s *showing) pixel(at r2.Vec) r2.Vec {
	return r2.Vec{X: float64(s.frame.Center.X) + at.X*float64(s.frame.Right),
		Y: float64(s.frame.Center.Y) - at.Y*float64(s.frame.Front)}
}

// drawCursor draws where in time the frame is.
func (s *showing) drawCursor(img *image.Paletted, p *Plate, k int) {
	_, height := filmGround{plate: p}.Size()
	at := s.chart.Point(1000*p.film.Times[k], s.chart.Y.Low)
	x := inDots(at.X)
	low, high := inDots(height-s.chart.Rect.Min.Y), inDots(height-s.chart.Rect.Max.Y)
	pen := pen{img: img, width: 2, opacity: 1, on: math.Inf(1)}
	pen.line(r2.Vec{X: x, Y: low}, r2.Vec{X: x, Y: high - 3})
}

// A pen adds ink along lines.
type pen struct {
	img            *image.Paletted
	width, opacity float64
	on, off, along float64 // of dashes, in pixels, and how far along the line it is
	pale           bool    // takes ink away
}

// line draws from p to q, in dashes if there are any.
func (n *pen) line(p, q r2.Vec) {
	length := r2.Norm(r2.Sub(q, p))
	if length == 0 {
		return
	}
	if math.IsInf(n.on, 1) {
		n.segment(p, q)
		return
	}
	period := n.on + n.off
	for done := 0.; done < length; {
		phase := math.Mod(n.along, period)
		step := min(n.on-phase, length-done)
		if phase >= n.on {
			step = min(period-phase, length-done)
		} else {
			way := r2.Scale(1/length, r2.Sub(q, p))
			n.segment(r2.Add(p, r2.Scale(done, way)), r2.Add(p, r2.Scale(done+step, way)))
		}
		step = max(step, 1e-6)
		done += step
		n.along += step
	}
}

// segment inks the pixels near a segment as far as it covers them.
func (n *pen) segment(p, q r2.Vec) {
	reach := n.width/2 + .5
	d := r2.Sub(q, p)
	square := r2.Norm2(d)
	bounds := n.img.Rect
	for y := max(bounds.Min.Y, int(min(p.Y, q.Y)-reach)); y <= min(bounds.Max.Y-1, int(max(p.Y, q.Y)+reach)); y++ {
		for x := max(bounds.Min.X,
			int(min(p.X, q.X)-reach)); x <= min(bounds.Max.X-1, int(max(p.X, q.X)+reach)); x++ {
			at := r2.Vec{X: float64(x) + .5 - p.X, Y: float64(y) + .5 - p.Y}
			t := 0.
			if square > 0 {
				t = min(max(r2.Dot(at, d)/square, 0), 1)
			}
			covered := reach - math.Hypot(at.X-t*d.X, at.Y-t*d.Y)
			switch {
			case n.pale && covered > .5:
				n.img.Pix[y*n.img.Stride+x] = firstGrey
			case !n.pale && covered > 0:
				n.ink(y*n.img.Stride+x, n.opacity*min(covered, 1))
			}
		}
	}
}

// ink darkens a pixel to an amount, unless it is darker.
func (n *pen) ink(pixel int, amount float64) {
	step := uint8(amount*(inkSteps-1) + .5)
	switch v := n.img.Pix[pixel]; {
	case v >= firstGrey:
		n.img.Pix[pixel] = max(v, firstGrey+step)
	case v/fieldLevels < step:
		n.img.Pix[pixel] = v%fieldLevels + step*fieldLevels
	}
}

// stampText is a latency as the stamp says it.
func stampText(seconds float64) string {
	text := strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.3f", 1000*seconds), "0"), ".")
	if text == "-0" {
		text = "0"
	}
	return strings.Replace(text, "-", "−", 1) + " ms"
}

// A stampSet is the letters of the time stamp, drawn once.
type stampSet struct {
	letters map[rune]letter
	height  int
}

type letter struct {
	width int
	ink   []uint8 // steps of ink, row by row
}

const stampLetters = "0123456789−. ms"

// stampSize is that of the letters.
const stampSize = 11 * vg.Length(1)

// stampFigure is one letter by itself.
type stampFigure struct{ text string }

func (s stampFigure) Title() string       { return s.text }
func (s stampFigure) Description() string { return "" }
func (s stampFigure) Size() (width, height vg.Length) {
	dot := vg.Inch / filmDots
	return dot * vg.Length(math.Ceil(float64(canvas.TextWidth(canvas.Sans(stampSize, true), s.text)/dot))),
		dot * vg.Length(math.Ceil(float64(stampSize*1.2/dot)))
}

func (s stampFigure) Draw(c canvas.Canvas) {
	c.SetColor(paper.Ink)
	c.FillString(canvas.Sans(stampSize, true), vg.Point{Y: .22 * stampSize}, s.text)
}

func newStampSet() (stampSet, error) {
	set := stampSet{letters: map[rune]letter{}}
	for _, r := range stampLetters {
		img, err := canvas.Raster(stampFigure{string(r)}, filmDots)
		if err != nil {
			return set, err
		}
		l := letter{width: img.Rect.Dx()}
		for i := range img.Rect.Dx() * img.Rect.Dy() {
			l.ink = append(l.ink, darkness(img, i))
		}
		set.letters[r], set.height = l, img.Rect.Dy()
	}
	return set, nil
}

func (s stampSet) draw(img *image.Paletted, text string, x, y int) {
	for _, r := range text {
		l := s.letters[r]
		for row := range s.height {
			for i := range l.width {
				if step := l.ink[row*l.width+i]; step > 0 {
					at := (y+row)*img.Stride + x + i
					img.Pix[at] = max(img.Pix[at], firstGrey+step)
				}
			}
		}
		x += l.width
	}
}
