package scalp

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"

	"calotte/layout/head"
	"calotte/render/internal/figtest"
	"calotte/render/paper"
	"calotte/topo"
)

var allViews = []View{Top, Left, Right, Front, Back}

// Every view's page and chart come back to the direction they came from.
func TestViewsRoundTrip(t *testing.T) {
	for _, model := range []head.Ellipsoid{{}, figtest.LongHead(t)} {
		for _, v := range allViews {
			view := SideView(model, v)
			rapid.Check(t, func(t *rapid.T) {
				angle := func(name string) float64 { return rapid.Float64Range(-1, 1).Draw(t, name) }
				want := r3.Vec{X: angle("x"), Y: angle("y"), Z: angle("z")}
				if r3.Norm(want) < .1 {
					t.Skip("too near the centre")
				}
				want = r3.Unit(want)
				if v == Top && want.Z < -.99 || v != Top && view.toward(want).Z < .02 {
					t.Skip("not seen, or at the rim where the page has no depth")
				}
				for name, got := range map[string]r3.Vec{
					"page":   view.Direction(view.Project(want)),
					"chart":  view.fromChart(view.chartOf(want)),
					"rolled": view.fromChart(view.rolled(view.unrolled(view.chartOf(want)))),
				} {
					if d := r3.Norm(r3.Sub(got, want)); d > 1e-12 {
						t.Errorf("%v, %s: %v came back as %v, %g away", v, name, want, got, d)
					}
				}
			})
		}
	}
}

// A side view is the head's surface without its depth: x, y and z of the point
// in which a direction meets the ellipsoid, divided by the longer half-axis.
func TestSideViewsAreOrthographic(t *testing.T) {
	head := figtest.LongHead(t)
	longer := max(head.Right, head.Front)
	for _, c := range []struct {
		view View
		want func(p r3.Vec) r2.Vec
	}{
		{Left, func(p r3.Vec) r2.Vec { return r2.Vec{X: -p.Y, Y: p.Z} }},
		{Right, func(p r3.Vec) r2.Vec { return r2.Vec{X: p.Y, Y: p.Z} }},
		{Front, func(p r3.Vec) r2.Vec { return r2.Vec{X: -p.X, Y: p.Z} }},
		{Back, func(p r3.Vec) r2.Vec { return r2.Vec{X: p.X, Y: p.Z} }},
	} {
		for _, s := range figtest.Place(t, head, figtest.SixtyFour) {
			got := SideView(head, c.view).Project(s.Position)
			if want := r2.Scale(1/longer, c.want(s.Position)); r2.Norm(r2.Sub(got, want)) > 1e-12 {
				t.Errorf("%s from %v lies at %v, want %v", s.Name, c.view, got, want)
			}
		}
	}
}

// On a sphere, what each projection from above promises to keep, by differences
// on the page over small steps on the sphere: areas, angles, distances from the
// vertex.
func TestSpacingsKeepTheirPromise(t *testing.T) {
	area := func(s Spacing, d r3.Vec) (areas, skew float64) {
		view := OnDisc
		view.Spacing = s
		const h = 1e-5
		east := r3.Unit(r3.Cross(r3.Vec{Z: 1}, d))
		south := r3.Cross(east, d)
		step := func(way r3.Vec) r2.Vec {
			ahead, behind := r3.Unit(r3.Add(d, r3.Scale(h, way))), r3.Unit(r3.Sub(d, r3.Scale(h, way)))
			return r2.Scale(1/(2*h), r2.Sub(view.Project(ahead), view.Project(behind)))
		}
		a, b := step(east), step(south)
		return math.Abs(r2.Cross(a, b)), r2.Norm(a) / r2.Norm(b)
	}
	random := rand.New(rand.NewPCG(5, 6))
	first := map[Spacing]float64{}
	for range 200 {
		d := r3.Unit(r3.Vec{X: random.NormFloat64(), Y: random.NormFloat64(), Z: random.NormFloat64()})
		if d.Z < -.5 || d.Z > .999 {
			continue
		}
		a, _ := area(EqualArea, d)
		if first[EqualArea] == 0 {
			first[EqualArea] = a
		}
		if math.Abs(a/first[EqualArea]-1) > 1e-8 {
			t.Errorf("equal area at %v: %g, want %g", d, a, first[EqualArea])
		}
		if _, ratio := area(Stereographic, d); math.Abs(ratio-1) > 1e-8 {
			t.Errorf("stereographic at %v: lengths east and south are as %g", d, ratio)
		}
		if got, want := r2.Norm(OnDisc.Project(d)), math.Acos(d.Z)/EdgeColatitude; math.Abs(got-want) > 1e-12 {
			t.Errorf("equidistant at %v: %g from the middle, want %g", d, got, want)
		}
	}
}

// The field at the places of a side view is the spline's, up to its rim.
func TestSideFieldsAgainstSpline(t *testing.T) {
	s := demoSheet(t, figtest.SixtyFour, 1, 1)
	s.Views = allViews
	p := compose(t, s)
	random := rand.New(rand.NewPCG(7, 8))
	for _, m := range p.panels {
		view := m.frame.View
		var charts []r2.Vec
		var directions []r3.Vec
		for len(charts) < 1000 {
			c := r2.Vec{X: 2*random.Float64() - 1, Y: 2*random.Float64() - 1}
			if view.inside(c) >= 0 {
				charts, directions = append(charts, c), append(directions, view.fromChart(c))
			}
		}
		coefficients, err := s.Rows[0].Spline.Solve(s.Rows[0].Values)
		if err != nil {
			t.Fatal(err)
		}
		want := s.Rows[0].Spline.Interpolate(directions, topo.Potential, coefficients)
		for i, c := range charts {
			if d := math.Abs(m.field.At(c) - want.At(i, 0)); d > .001*p.Scales[0].Limit {
				t.Fatalf("%v at %v: %g off", view.View, directions[i], d)
			}
		}
	}
}

// What is drawn in a side view: pixels have the colours of the spline's values,
// contours lie where the field has theirs, and nothing lies outside of the map.
func TestSidePictures(t *testing.T) {
	s := demoSheet(t, figtest.SixtyFour, 1, 1)
	s.Views, s.Head = allViews, figtest.LongHead(t)
	p := compose(t, s)
	coefficients, err := s.Rows[0].Spline.Solve(s.Rows[0].Values)
	if err != nil {
		t.Fatal(err)
	}
	value := func(d r3.Vec) float64 {
		return s.Rows[0].Spline.Interpolate([]r3.Vec{d}, topo.Potential, coefficients).At(0, 0)
	}
	scale := p.Scales[0]
	for _, m := range p.panels {
		q := p.picture(m, testTable, paper.Pixel)
		f := m.frame
		f.Center = vg.Point{}
		for k := range 400 {
			i, j := k*37%q.image.Rect.Dx(), k*101%q.image.Rect.Dy()
			x := (q.covers.Min.X + (vg.Length(i)+.5)*paper.Pixel) / f.Right
			y := (q.covers.Max.Y - (vg.Length(j)+.5)*paper.Pixel) / f.Front
			at := f.View.rolled(r2.Vec{X: float64(x), Y: float64(y)})
			inside := f.View.inside(at)
			switch radius := math.Hypot(float64(x), float64(y)); {
			case radius > 1.03:
				inside = -1
			case radius > .97:
				continue // at the rim
			}
			got := q.image.RGBAAt(i, j)
			switch {
			case inside < -.03 && got.A != 0:
				t.Fatalf("%v: a pixel outside of the map is %v", f.View.View, got)
			case inside > .03:
				if want := testTable.At(value(f.View.fromChart(at)) / scale.Limit); apart(got.R,
					want.R) ||
					apart(got.G, want.G) || apart(got.B, want.B) || got.A != 255 {
					t.Fatalf("%v: a pixel is %v, want %v", f.View.View, got, want)
				}
			}
		}
		for i, path := range q.contours {
			for k, c := range path {
				if c.Type == vg.CloseComp || k%5 > 0 {
					continue
				}
				at := f.View.rolled(r2.Vec{X: float64(c.Pos.X / f.Right),
					Y: float64(c.Pos.Y / f.Front)})
				if d := math.Abs(value(f.View.fromChart(at)) - q.levels[i]); d > .01*scale.Limit {
					t.Fatalf("%v: a contour of %g runs where the field is %g off", f.View.View,
						q.levels[i],
						d)
				}
			}
		}
	}
}

func apart(a, b uint8) bool { return math.Abs(float64(a)-float64(b)) > 2 }
