package scalp

import (
	"image/color"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/paper"
)

// slope is a map of potentials that rise to the right, from -4 to 4 µV at the
// ears of the 10-20 system's sites.
func slope(t *testing.T) *Map {
	t.Helper()
	placements, err := layout.Place(head.Sphere(89.1), layout.Set1020())
	if err != nil {
		t.Fatal(err)
	}
	sites := layout.Sites(placements)
	values := make([]float64, len(sites))
	for i, s := range sites {
		values[i] = 4 * r3.Unit(s.Position).X
	}
	m, err := NewMap(sites, values)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// filled are the areas that a plot of a size draws, with their colours.
func filled(p *plot.Plot, width, height vg.Length) []fill {
	var rec recorder.Canvas
	p.Draw(draw.NewCanvas(&rec, width, height))
	var fills []fill
	var colour color.Color
	var shifts []vg.Point
	var shift vg.Point
	for _, a := range rec.Actions {
		switch a := a.(type) {
		case *recorder.SetColor:
			colour = a.Color
		case *recorder.Push:
			shifts = append(shifts, shift)
		case *recorder.Pop:
			shift, shifts = shifts[len(shifts)-1], shifts[:len(shifts)-1]
		case *recorder.Translate:
			shift = shift.Add(a.Point)
		case *recorder.Fill:
			var path vg.Path
			for _, c := range a.Path {
				c.Pos = c.Pos.Add(shift)
				path = append(path, c)
			}
			fills = append(fills, fill{path, color.RGBAModel.Convert(colour).(color.RGBA)})
		}
	}
	return fills
}

func boundsOf(p vg.Path) vg.Rectangle {
	r := vg.Rectangle{Min: p[0].Pos, Max: p[0].Pos}
	for _, c := range p {
		if c.Type == vg.CloseComp {
			continue
		}
		r.Min.X, r.Min.Y = min(r.Min.X, c.Pos.X), min(r.Min.Y, c.Pos.Y)
		r.Max.X, r.Max.Y = max(r.Max.X, c.Pos.X), max(r.Max.Y, c.Pos.Y)
	}
	return r
}

// ground is where the first area of a map lies, all of it, by its colour.
func ground(t *testing.T, fills []fill, m *Map) vg.Rectangle {
	t.Helper()
	chart, err := m.chart()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range fills {
		if f.colour == chart.layers.ground {
			return boundsOf(f.path)
		}
	}
	t.Fatal("the map's ground is not drawn")
	return vg.Rectangle{}
}

// A map keeps its proportions and stays on its canvas, whatever the plot's
// shape.
func TestMapKeepsItsProportions(t *testing.T) {
	for _, model := range []head.Ellipsoid{{}, {Right: 70, Front: 95, Up: 85}, {Right: 80, Front: 72, Up: 85}} {
		for _, size := range []vg.Point{{X: 200, Y: 200}, {X: 400, Y: 120}, {X: 100, Y: 300}} {
			m := slope(t)
			m.Head = model
			p := plot.New()
			p.HideAxes()
			p.X.Scale, p.X.Min, p.X.Max = plot.LogScale{}, 1, 1000
			p.Add(m)
			got := ground(t, filled(p, size.X, size.Y), m)
			want := 1.
			if model.Front > 0 {
				want = model.Right / model.Front
			}
			if ratio := float64(got.Size().X / got.Size().Y); math.Abs(ratio-want) > .001 {
				t.Errorf("head %v on %v: width to height %.4f, want %.4f", model, size, ratio, want)
			}
			if got.Min.X < mapMargin || got.Max.X > size.X-mapMargin || got.Min.Y < mapMargin ||
				got.Max.Y+NoseHeight*got.Size().Y/2 > size.Y-mapMargin {
				t.Errorf("head %v on %v: the map lies at %v", model, size, got)
			}
			width, height := got.Size().X+2*mapMargin, got.Size().Y*(1+NoseHeight/2)+2*mapMargin
			if width < .9*size.X && height < .9*size.Y {
				t.Errorf("head %v on %v: the map at %v fills neither width nor height", model, size,
					got)
			}
		}
	}
}

// An inset has its length, its middle at the data, and room at the plot's
// border.
func TestMapAsInset(t *testing.T) {
	m := slope(t)
	m.X, m.Y, m.Radius = 100, 0, 30
	p := plot.New()
	line, err := plotter.NewLine(plotter.XYs{{X: 0, Y: -1}, {X: 100, Y: 1}})
	if err != nil {
		t.Fatal(err)
	}
	p.Add(line, m)
	if p.X.Min != 0 || p.X.Max != 100 || p.Y.Min != -1 || p.Y.Max != 1 {
		t.Errorf("the axes run from %g to %g and from %g to %g", p.X.Min, p.X.Max, p.Y.Min, p.Y.Max)
	}
	got := ground(t, filled(p, 300, 200), m)
	if size := got.Size(); math.Abs(float64(size.X-60)) > .01 || math.Abs(float64(size.Y-60)) > .01 {
		t.Errorf("the inset measures %v", size)
	}
	if got.Max.X > 300-mapMargin+.01 {
		t.Errorf("the inset reaches to %v of 300", got.Max.X)
	}
	canvas := p.DataCanvas(draw.NewCanvas(new(recorder.Canvas), 300, 200))
	x, y := p.Transforms(&canvas)
	middle := got.Min.Add(got.Max).Scale(.5)
	if math.Abs(float64(middle.X-x(100))) > .01 || math.Abs(float64(middle.Y-y(0))) > .01 {
		t.Errorf("the inset's middle is %v, want %v, %v", middle, x(100), y(0))
	}
}

// A map without a radius says nothing about the axes.
func TestMapLeavesTheAxes(t *testing.T) {
	p := plot.New()
	p.Add(slope(t))
	if !math.IsInf(p.X.Min, 1) || !math.IsInf(p.Y.Max, -1) {
		t.Errorf("the axes run from %g and to %g", p.X.Min, p.Y.Max)
	}
}

// The bands have the colours of the scale, and the colour map tells them.
func TestMapColours(t *testing.T) {
	m := slope(t)
	m.Limit, m.Levels = 8, []float64{2, -2, 0, 2}
	scale := palettes[Colour].signed
	p := plot.New()
	p.HideAxes()
	p.Add(m)
	drawn := map[color.RGBA]bool{}
	for _, f := range filled(p, 200, 200) {
		drawn[f.colour] = true
	}
	colours := m.ColorMap()
	for v, middle := range map[float64]float64{-8: -5, -2.1: -5, -1.9: -1, -.1: -1, .1: 1, 1.9: 1, 2.1: 5, 8: 5} {
		want := scale.At(middle / 8)
		got, err := colours.At(v)
		if err != nil || color.RGBAModel.Convert(got) != want {
			t.Errorf("%g has %v, %v, want %v", v, got, err, want)
		}
		if !drawn[want] {
			t.Errorf("the band about %g is not drawn", middle)
		}
	}
	for _, v := range []float64{-8.1, 8.1, math.NaN()} {
		if c, err := colours.At(v); err == nil {
			t.Errorf("%g has the colour %v", v, c)
		}
	}
	first, _ := colours.At(-8)
	colours.SetMin(0)
	colours.SetMax(1)
	if c, err := colours.At(0); err != nil || c != first {
		t.Errorf("stretched to 0 to 1, its low end is %v, %v, want %v", c, err, first)
	}
	if list := colours.Palette(5).Colors(); len(list) != 5 || list[0] != first {
		t.Errorf("a palette of %v", list)
	}
	colours.SetAlpha(.5)
	if c, _ := colours.At(1); c.(color.NRGBA).A != 128 {
		t.Errorf("at half its opacity: %v", c)
	}
}

func TestMapMarks(t *testing.T) {
	count := func(m *Map) (marks int) {
		p := plot.New()
		p.HideAxes()
		p.Add(m)
		for _, f := range filled(p, 200, 200) {
			if f.colour == color.RGBAModel.Convert(paper.Ink) {
				for _, c := range f.path {
					if c.Type == vg.MoveComp {
						marks++
					}
				}
			}
		}
		return marks
	}
	m := slope(t)
	if got := count(m); got != 19 {
		t.Errorf("%d marks, want one for each site", got)
	}
	m.Marks = []Mark{}
	if got := count(m); got != 0 {
		t.Errorf("%d marks, want none", got)
	}
	m.Marks = MeasuredAt(m.sites[:3])
	defer func() {
		if said := recover(); said == nil || !strings.Contains(said.(string), "3 marks for 19 sites") {
			t.Errorf("marks of other sites: %v", said)
		}
	}()
	count(m)
}

func TestNewMapRefuses(t *testing.T) {
	sites := slope(t).sites
	twice := append([]layout.Site{sites[1]}, sites[1:]...)
	for _, c := range []struct {
		name   string
		sites  []layout.Site
		values []float64
		want   string
	}{
		{"counts", sites, make([]float64, 18), "18 values for 19 sites: give one for each"},
		{"none", nil, nil, "0 sites: a spline needs at least 4"},
		{"few", sites[:3], make([]float64, 3), "3 sites: a spline needs at least 4"},
		{"one place", twice, make([]float64, 19), "are at one place"},
		{"not a number", sites, append(make([]float64, 18), math.NaN()), `site "O2" has amplitude`},
		{"infinite", sites, append(make([]float64, 18), math.Inf(1)), `site "O2" has amplitude`},
		{"centre", append([]layout.Site{{Name: "X"}}, sites[1:]...), make([]float64, 19), `site "X" is at`},
	} {
		if m, err := NewMap(c.sites, c.values); m != nil || err == nil ||
			!strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, %v, want %q", c.name, m, err, c.want)
		}
	}
}
