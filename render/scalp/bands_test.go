package scalp

import (
	"image/color"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"

	"calotte/layout/head"
	"calotte/render/canvas"
	"calotte/render/internal/figtest"
	"calotte/render/paper"
)

// areaOf rings, lakes taken off.
func areaOf(rings []Line) (sum float64) {
	for _, ring := range rings {
		sum += ring.area()
	}
	return sum
}

// A census counts the middles of small squares on a territory.
type census struct {
	land territory
	all  float64 // area inside the border
	side int     // squares from the middle to the right
	in   []bool
}

func newCensus(land territory, side int) *census {
	c := &census{land: land, all: areaOf([]Line{{Points: land.border, Closed: true}}), side: side}
	for row := range 2 * side {
		for column := range 2 * side {
			c.in = append(c.in, land.inside(r2.Vec{X: c.coordinate(column), Y: c.coordinate(row)}) >= 0)
		}
	}
	return c
}

func (c *census) coordinate(i int) float64 { return (float64(i-c.side) + .5) / float64(c.side) }

// above are the areas where a field reaches each of some levels.
func (c *census) above(f *Field, levels []float64) []float64 {
	xs := make([]float64, 2*c.side)
	for i := range xs {
		xs[i] = c.coordinate(i)
	}
	areas := make([]float64, len(levels))
	r := NewRows(f, xs)
	for row, y := range xs {
		r.MoveTo(y)
		for column := range xs {
			if !c.in[row*len(xs)+column] {
				continue
			}
			v := r.At(column)
			for k, level := range levels {
				if v >= level-1e-9 { // as contours see it
					areas[k] += 1 / float64(c.side*c.side)
				}
			}
		}
	}
	return areas
}

// traced are the same areas by the rings, once from above and once from below.
func (c *census) traced(t interface{ Errorf(string, ...any) }, f *Field, levels []float64) []float64 {
	const tolerance = 1e-9
	var areas []float64
	for i, contours := range f.trace(levels, 4, tolerance) {
		reaches := func(at r2.Vec) bool { return f.At(at) >= levels[i]-tolerance }
		upper, lower := areaOf(c.land.rings(contours, true, reaches)),
			areaOf(c.land.rings(contours, false, reaches))
		if math.Abs(upper+lower-c.all) > 5e-4*c.all { // corners of the border are cut
			t.Errorf("level %g: %.6f lie above and %.6f below, of %.6f", levels[i], upper, lower, c.all)
		}
		areas = append(areas, upper)
	}
	return areas
}

func TestAreasOfBands(t *testing.T) {
	levels := []float64{-.5, -.25, 0, .25, .5}
	model := head.Ellipsoid{Right: 75, Front: 95, Up: 80}
	lands := []*census{newCensus(OnDisc.territory(false), 400), newCensus(OnDisc.territory(true), 400)}
	for _, v := range []View{Left, Right, Front, Back} {
		lands = append(lands, newCensus(SideView(model, v).territory(false), 400))
	}
	for name, f := range map[string]func(p r2.Vec) float64{
		"slope":           func(p r2.Vec) float64 { return p.X + .3*p.Y },
		"hill":            func(p r2.Vec) float64 { return .8 - r2.Norm2(r2.Sub(p, r2.Vec{X: .2, Y: .1}))*2 },
		"lake on an isle": func(p r2.Vec) float64 { return .7 * math.Cos(9*r2.Norm(p)) },
		"saddle":          func(p r2.Vec) float64 { return 1.7 * p.X * p.Y },
		"saddle on nodes": func(p r2.Vec) float64 { return p.X*p.X - p.Y*p.Y },
		"saddle between":  func(p r2.Vec) float64 { return 1.7*(p.X-1./271)*(p.Y-1./371) + 1e-5 },
		"many saddles":    func(p r2.Vec) float64 { return .9 * math.Sin(11*p.X+.3) * math.Cos(9*p.Y-.2) },
		"ripples at edge": func(p r2.Vec) float64 {
			return .9 * math.Sin(24*math.Atan2(p.Y, p.X)) * r2.Norm2(p) *
				r2.Norm2(p)
		},
		"touches edge": func(p r2.Vec) float64 { return .75 - r2.Norm(p) },
		"above all":    func(p r2.Vec) float64 { return 2 + p.X },
		"below all":    func(p r2.Vec) float64 { return -2 + p.X },
		"at a level":   func(r2.Vec) float64 { return .25 },
	} {
		t.Run(name, func(t *testing.T) {
			field := sampled(f)
			for i, land := range lands {
				got, want := land.traced(t, field, levels), land.above(field, levels)
				for k := range len(levels) + 1 { // from band to band
					a, b := band(got, land.all, k), band(want, land.all, k)
					// One per cent, or what counting leaves
					// open of small bands.
					if math.Abs(a-b) > max(.01*b, 2e-4*land.all) {
						t.Errorf("territory %d, band %d: area %.6f, counted %.6f", i, k, a, b)
					}
				}
			}
		})
	}
}

// band is the area of the k-th band from below.
func band(above []float64, all float64, k int) float64 {
	above = slices.Concat([]float64{all}, above, []float64{0})
	return above[k] - above[k+1]
}

// Of any field, as much lies above a level as lies above it to within 0.2 % of
// the scale.
func TestAreasOfAnyBands(t *testing.T) {
	land := newCensus(OnDisc.territory(false), 250)
	levels := []float64{-1, -.5, 0, .5, 1}
	var least, most []float64
	for _, level := range levels {
		least, most = append(least, level+.002), append(most, level-.002)
	}
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.Float64Range(-1, 1)
		var waves [6][4]float64
		for i := range waves {
			for j := range waves[i] {
				waves[i][j] = number.Draw(t, "number")
			}
		}
		f := sampled(func(p r2.Vec) float64 {
			sum := 0.
			for _, w := range waves {
				sum += w[0] * math.Sin(8*w[1]*p.X+8*w[2]*p.Y+3*w[3])
			}
			return sum
		})
		got, low, high := land.traced(t, f, levels), land.above(f, least), land.above(f, most)
		for k, a := range got {
			slack := .003 * land.all // of counting
			if a < low[k]-slack || a > high[k]+slack {
				t.Errorf("level %g: area %.6f, counted %.6f to %.6f", levels[k], a, low[k], high[k])
			}
		}
	})
}

// A sheet in bands holds no picture, neither on its maps nor on its scales.
func TestBandsAreLineArt(t *testing.T) {
	s := demoSheet(t, figtest.SixtyFour, 2, 2)
	s.withSpread(12)
	for _, shows := range []Showing{Amplitudes, TValues, StandardErrors, Agreement} {
		s.Shows, s.Views = shows, []View{Top, Left}
		for form, want := range map[Form]bool{Shades: true, Bands: false} {
			s.Form = form
			boxes, err := canvas.Boxes(compose(t, s))
			if err != nil {
				t.Fatal(err)
			}
			if got := slices.ContainsFunc(boxes,
				func(b canvas.Box) bool { return b.Kind == canvas.Image }); got != want {
				t.Errorf("%v as %v: pictures %t, want %t", shows, form, got, want)
			}
		}
	}
}

// The order of bands: from zero upward, then from zero downward, each with the
// colour of its middle.
func TestLayers(t *testing.T) {
	grey := func(v float64) color.RGBA { return color.RGBA{R: uint8(100 + 10*v)} }
	for _, c := range []struct {
		levels []float64
		ground uint8
		steps  []layer
	}{
		{[]float64{-4, -2, 0, 2, 4}, 90, []layer{
			{0, true, grey(1)}, {2, true, grey(3)}, {4, true, grey(4)}, {-2, false, grey(-3)},
			{-4, false, grey(-4)}}},
		{[]float64{0, 2, 4}, 80, []layer{{0, true, grey(1)}, {2, true, grey(3)}, {4, true, grey(4)}}},
		{[]float64{1, 2}, 100 - 15, []layer{{1, true, grey(1.5)}, {2, true, grey(3)}}},
		{[]float64{-2, -1}, 100 + 15, []layer{{-1, false, grey(-1.5)}, {-2, false, grey(-3)}}},
		{nil, 100, nil},
	} {
		got := newLayers(c.levels, 4, grey)
		if got.ground.R != c.ground || !slices.Equal(got.steps, c.steps) {
			t.Errorf("levels %v: ground %d, steps %v, want %d, %v", c.levels, got.ground.R, got.steps,
				c.ground,
				c.steps)
		}
	}
}

// bandsFigure draws dark bands only: any white inside is a seam.
type bandsFigure struct{ fills []fill }

func (bandsFigure) Title() string                   { return "" }
func (bandsFigure) Description() string             { return "" }
func (bandsFigure) Size() (width, height vg.Length) { return 120, 120 }
func (f bandsFigure) Draw(c canvas.Canvas) {
	for _, fill := range f.fills {
		paper.Fill(c, fill.path, fill.colour)
	}
}

// No paper shows between bands, and each pixel has the colour of its band or,
// at a border, of a mixture with a neighbour.
func TestNoSeamsBetweenBands(t *testing.T) {
	field := sampled(func(p r2.Vec) float64 { return .9 * math.Sin(5*p.X+.3) * math.Cos(6*p.Y-.2) })
	at := Frame{Center: vg.Point{X: 60, Y: 60}, Right: 50, Front: 50, View: OnDisc}
	levels := []float64{-.8, -.6, -.4, -.2, 0, .2, .4, .6, .8}
	tone := func(v float64) color.RGBA { g := uint8(math.Round(80 + 60*v)); return color.RGBA{g, g, g, 255} }
	p := &panel{field: field, frame: at}
	const resolution = 150
	bands := p.bands(at, OnDisc.territory(false), newLayers(levels, .8, tone), 1e-6)
	img, err := canvas.Raster(bandsFigure{bands}, resolution)
	if err != nil {
		t.Fatal(err)
	}
	const dot = 72. / resolution
	inside := 0
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			spot := r2.Vec{X: ((float64(x)+.5)*dot - 60) / 50, Y: (60 - (float64(y)+.5)*dot) / 50}
			if r2.Norm(spot) > .98 {
				continue
			}
			inside++
			least, greatest := math.Inf(1), math.Inf(-1)
			for _, d := range []r2.Vec{{X: 1, Y: 1}, {X: 1, Y: -1}, {X: -1, Y: 1}, {X: -1, Y: -1}} {
				v := field.At(r2.Add(spot, r2.Scale(dot/50, d)))
				least, greatest = min(least, v), max(greatest, v)
			}
			low, _ := slices.BinarySearch(levels, least)
			high, _ := slices.BinarySearch(levels, greatest)
			a, b := tone(middleBelow(levels, .8, low)).R, tone(middleBelow(levels, .8, high)).R
			if got := img.RGBAAt(x, y).R; got+1 < a || got > b+1 {
				t.Fatalf("pixel %d, %d has tone %d, of bands from %d to %d", x, y, got, a, b)
			}
		}
	}
	if inside < 30000 {
		t.Errorf("only %d pixels are inside", inside)
	}
}
