package film

import (
	"fmt"
	"image"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/render/canvas"
	"calotte/render/internal/figtest"
	"calotte/render/internal/sheettest"
	"calotte/render/scalp"
	"calotte/topo"
)

// demoFilm is a film of invented maps of the named sites.
func demoFilm(t testing.TB, names []layout.Name, conditions, frames int) *Film {
	s := sheettest.Demo(t, names, conditions, frames)
	f := &Film{Rows: s.Rows, Reference: s.Reference, Synthetic: true, PowerTimes: []float64{-.1, 0, .1, .2, .3}}
	for k := range frames {
		f.Times = append(f.Times, .15+.01*float64(k))
	}
	for range f.Rows {
		f.Power = append(f.Power, []float64{.1, .2, 2, 3, 1})
	}
	return f
}

func filmOf(t testing.TB, f *Film) *Plate {
	t.Helper()
	p, err := f.Compose()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// allFrames are copies of the frames' pixels.
func allFrames(t testing.TB, p *Plate) []*image.Paletted {
	t.Helper()
	var out []*image.Paletted
	copies := make([][]uint8, len(p.film.Times))
	err := p.Frames(func(k int, img *image.Paletted) ([]byte, error) {
		copies[k] = append([]uint8{}, img.Pix...)
		return copies[k], nil
	}, func(k int, data []byte) error {
		out = append(out, &image.Paletted{Pix: data, Stride: p.Width, Rect: image.Rect(0, 0, p.Width, p.Height),
			Palette: p.Palette()})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// A frame shows what a map shows: where no line lies, each pixel has the colour
// of the spline's value there, to half a step of the palette and what the grid
// leaves; and the scale is that of the sheet of all frames.
func TestFramesShowTheSpline(t *testing.T) {
	f := demoFilm(t, figtest.SixtyFour, 2, 3)
	p := filmOf(t, f)
	sheet := sheettest.Demo(t, figtest.SixtyFour, 2, 3)
	if want := sheettest.Compose(t, sheet).Scales[0]; p.Scale.Limit != want.Limit || p.Scale.Step != want.Step {
		t.Errorf("scale %+v, that of a sheet is %+v", p.Scale, want)
	}
	step := 2 * p.Scale.Limit / (fieldLevels - 1)
	for k, img := range allFrames(t, p) {
		for c, s := range p.shows {
			coefficients, err := f.Rows[c].Spline.Solve(f.Rows[c].Values)
			if err != nil {
				t.Fatal(err)
			}
			var at []r3.Vec
			var got []float64
			for _, row := range s.rows {
				for i := range row.over {
					index := img.Pix[row.y*img.Stride+s.left+row.first+i]
					if (i+row.y)%11 > 0 || index >= fieldLevels || row.over[i] != 0 {
						continue
					}
					at = append(at, scalp.OnDisc.Direction(r2.Vec{X: s.xs[row.first+i], Y: row.v}))
					got = append(got, (2*float64(index)/(fieldLevels-1)-1)*p.Scale.Limit)
				}
			}
			if len(at) < 2000 {
				t.Fatalf("only %d pixels are free of lines", len(at))
			}
			want := f.Rows[c].Spline.Interpolate(at, topo.Potential, coefficients)
			for i, v := range got {
				if d := math.Abs(v - want.At(i, k)); d > .5*step+.002*p.Scale.Limit {
					t.Fatalf("frame %d, condition %d: a pixel shows %.3f, the spline says %.3f", k,
						c,
						v,
						want.At(i, k))
				}
			}
		}
	}
}

// Contours lie where the field has their value: ink over the field, off the
// marks.
func TestContoursOfFrames(t *testing.T) {
	f := demoFilm(t, figtest.SixtyFour, 1, 1)
	p := filmOf(t, f)
	img, s := allFrames(t, p)[0], p.shows[0]
	block, err := p.block(0)
	if err != nil {
		t.Fatal(err)
	}
	field := p.grid.Field(mat.Col(nil, 0, block[0].values)[:len(p.grid.Nodes)])
	inked := 0
	for _, row := range s.rows {
		for i, over := range row.over {
			if over != 0 || img.Pix[row.y*img.Stride+s.left+row.first+i] < 2*fieldLevels {
				continue
			}
			inked++
			at := r2.Vec{X: s.xs[row.first+i], Y: row.v}
			const h = .01
			slope := math.Hypot(field.At(r2.Vec{X: at.X + h, Y: at.Y})-field.At(r2.Vec{X: at.X - h,
				Y: at.Y}),
				field.At(r2.Vec{X: at.X, Y: at.Y + h})-field.At(r2.Vec{X: at.X, Y: at.Y - h})) / (2 * h)
			v := field.At(at)
			off := math.Abs(v-math.Round(v/p.Scale.Step)*p.Scale.Step) / slope * float64(s.frame.Right)
			if off > 1.6 { // half the pen, and the pixel's own reach
				t.Fatalf("ink at %v, %.2f pixels from a level", at, off)
			}
		}
	}
	if inked < 200 {
		t.Errorf("only %d pixels of contours", inked)
	}
}

func TestStampText(t *testing.T) {
	for seconds, want := range map[float64]string{.17: "170 ms", -.05: "−50 ms", 0: "0 ms", .1716: "171.6 ms",
		-1e-9: "0 ms"} {
		if got := stampText(seconds); got != want {
			t.Errorf("%g s is %q, want %q", seconds, got, want)
		}
	}
}

// The texts that stand still keep apart and on the frame, whatever its size.
func TestFilmGround(t *testing.T) {
	for _, side := range []int{240, 480, 900} {
		for conditions := 1; conditions <= 3; conditions++ {
			f := demoFilm(t, layout.Set1020(), conditions, 1)
			f.Side = side
			p := filmOf(t, f)
			boxes, err := canvas.Boxes(filmGround{plate: p})
			if err != nil {
				t.Fatal(err)
			}
			width, height := filmGround{plate: p}.Size()
			var texts []canvas.Box
			for _, b := range boxes {
				if b.Kind != canvas.Text {
					continue
				}
				if !b.Within(width, height) {
					t.Errorf("%d pixels, %d conditions: %q leaves the frame", side, conditions,
						b.Text)
				}
				for _, o := range texts {
					if b.Overlaps(o) {
						t.Errorf("%d pixels, %d conditions: %q and %q overlap", side,
							conditions,
							b.Text,
							o.Text)
					}
				}
				texts = append(texts, b)
			}
		}
	}
}

func TestFilmRefuses(t *testing.T) {
	for name, change := range map[string]func(f *Film){
		"no frames":    func(f *Film) { f.Times = nil },
		"no condition": func(f *Film) { f.Rows = nil },
		"tiny":         func(f *Film) { f.Side = 10 },
		"huge":         func(f *Film) { f.Side = 10000 },
		"no power":     func(f *Film) { f.Power = nil },
		"NaN":          func(f *Film) { f.Rows[0].Values.(*mat.Dense).Set(0, 0, math.NaN()) },
	} {
		f := demoFilm(t, layout.Set1020(), 1, 2)
		change(f)
		if _, err := f.Compose(); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func BenchmarkFrames(b *testing.B) {
	for _, names := range [][]layout.Name{layout.Set1020(), figtest.SixtyFour, layout.Set1005()} {
		b.Run(fmt.Sprint(len(names)), func(b *testing.B) {
			const frames = 64
			f := demoFilm(b, names, 1, frames)
			for i := range frames { // the same maps again: what is drawn costs the same
				f.Times[i] = .15
			}
			p := filmOf(b, f)
			for b.Loop() {
				if err := p.Frames(func(_ int, img *image.Paletted) ([]byte, error) { return nil, nil },
					func(int, []byte) error { return nil }); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/frames, "µs/frame")
		})
	}
}
