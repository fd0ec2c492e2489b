package digitised_test

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/digitised"
	"calotte/layout/head"
	"calotte/layout/internal/geometry"
	"calotte/layout/internal/headtest"
)

// lacking leaves sites out.
func lacking(points []layout.Site, names ...string) []layout.Site {
	return slices.DeleteFunc(slices.Clone(points),
		func(s layout.Site) bool { return slices.Contains(names, s.Name) })
}

func comparePair(t *testing.T, a, b []layout.Site,
	ca, cb digitised.Coordinates) (map[string]digitised.SiteDistance, digitised.Comparison) {
	t.Helper()
	first, second, err := digitised.DigitisePair(digitised.Points{Sites: a}, digitised.Points{Sites: b}, ca, cb,
		digitised.Options{})
	if err != nil {
		t.Fatal(err)
	}
	c, err := digitised.Compare(first.Sites, second.Sites)
	if err != nil {
		t.Fatal(err)
	}
	distances := map[string]digitised.SiteDistance{}
	for _, s := range c.Sites {
		distances[s.Name] = s
	}
	return distances, c
}

// unevenHead is a cap on no sphere: a fit to all sites and one to some of them
// differ.
func unevenHead(t *testing.T) (points, truth []layout.Site) {
	points, truth = headtest.Digitised(t, headtest.Measured(t))
	for i := range truth {
		bump := r3.Scale(4*math.Sin(float64(i)), r3.Unit(truth[i].Position))
		truth[i].Position = r3.Add(truth[i].Position, bump)
		points[3+i].Position = r3.Add(points[3+i].Position, bump)
	}
	return points, truth
}

func TestPairWithSitesMissing(t *testing.T) {
	points, _ := unevenHead(t)
	inion := layout.Site{Name: "INI", Position: r3.Vec{Y: -100, Z: -3}}
	other := digitised.Coordinates{System: "Other", Units: "mm"}
	few := lacking(points, "O1", "Oz", "O2")
	moved := slices.Clone(few)
	for i, p := range moved {
		moved[i].Position = r3.Add(geometry.Turned(p.Position, r3.Vec{X: 0.3, Y: 1, Z: -2}), r3.Vec{X: 300})
	}
	for _, c := range []struct {
		text   string
		a, b   []layout.Site
		ca, cb digitised.Coordinates
		shared int
	}{
		{"O1, Oz and O2 missing", points, few, other, other, 61},
		{"in the first", few, points, other, other, 61},
		{"each lacks some", lacking(points, "Fp1", "Fpz", "Fp2", "F7"), few, other, other, 57},
		{"the digitiser elsewhere", points, moved, other, other, 61},
		{"the inion in one only", append(slices.Clone(points), inion), few, other, other, 61},
		{"another unit and other axes", points, as(few, "ALS", 10), other,
			digitised.Coordinates{System: "CTF", Units: "cm"}, 61},
		{"no landmarks", points[3:], few[3:], digitised.Coordinates{System: "CapTrak", Units: "mm"},
			digitised.Coordinates{System: "CapTrak", Units: "mm"}, 61},
		{"too few for a sphere", points, points[:12], other, other, 9},
	} {
		_, got := comparePair(t, c.a, c.b, c.ca, c.cb)
		if len(got.Sites) != c.shared || got.Max > 1e-9 {
			t.Errorf("%s: %d sites, up to %g mm apart, want %d in the same places", c.text, len(got.Sites),
				got.Max,
				c.shared)
		}
	}
}

// A cap turned by 4° about the vertical moves each site on a circle about it:
// T7 by the chord 2 ρ sin 2°.
func TestPairTurnedWithSitesMissing(t *testing.T) {
	for _, model := range []head.Ellipsoid{head.Sphere(92), headtest.Measured(t)} {
		points, truth := headtest.Digitised(t, model)
		ears := r3.Sub(truth[0].Position, points[3].Position)
		other := digitised.Coordinates{System: "Other", Units: "mm"}
		turnedCap := slices.Clone(points)
		for i, p := range turnedCap[3:] {
			turnedCap[3+i].Position = r3.Sub(geometry.Turned(r3.Add(p.Position, ears),
				r3.Vec{Z: 4 * math.Pi / 180}),
				ears)
		}
		got, _ := comparePair(t, points, lacking(turnedCap, "O1", "Oz", "O2"), other, other)
		for _, s := range truth {
			if d, ok := got[s.Name]; ok {
				want := 2 * math.Hypot(s.Position.X, s.Position.Y) * math.Sin(2*math.Pi/180)
				if math.Abs(d.Straight-want) > 1e-9 {
					t.Errorf("%s is %g mm off, want %g", s.Name, d.Straight, want)
				}
			}
		}
		if got["Cz"].Straight > 1e-9 ||
			math.Abs(got["T7"].Straight-2*model.Right*math.Sin(2*math.Pi/180)) > 1e-9 {
			t.Errorf("Cz %g mm, T7 %g mm", got["Cz"].Straight, got["T7"].Straight)
		}
	}
}

// Positions that this package wrote stay; digitised ones are brought onto them.
func TestPairWithPlacedSites(t *testing.T) {
	head := headtest.Measured(t)
	points, truth := headtest.Digitised(t, head)
	other := digitised.Coordinates{System: "Other", Units: "mm"}
	few := lacking(points, "O1", "Oz", "O2")
	if _, c := comparePair(t, truth, few, digitised.RAS(head), other); len(c.Sites) != 61 || c.Max > 1e-9 {
		t.Errorf("placed first: %g mm apart", c.Max)
	}
	if _, c := comparePair(t, few, truth, other, digitised.RAS(head)); len(c.Sites) != 61 || c.Max > 1e-9 {
		t.Errorf("placed second: %g mm apart", c.Max)
	}
	a, b, err := digitised.DigitisePair(digitised.Points{Sites: truth},
		digitised.Points{Sites: lacking(truth, "Cz")},
		digitised.RAS(head), digitised.RAS(head), digitised.Options{})
	if err != nil {
		t.Fatal(err)
	}
	expectSites(t, "placed", a, truth, 0)
	expectSites(t, "placed", b, lacking(truth, "Cz"), 0)
}

func TestPairSaysWhichIsWrong(t *testing.T) {
	points, _ := headtest.Digitised(t, head.Sphere(92))
	other := digitised.Coordinates{System: "Other", Units: "mm"}
	for _, c := range []struct {
		a, b []layout.Site
		want string
	}{
		{nil, points, "the first set of points: no electrode among the points: expected sites beside " +
			"the landmarks"},
		{points, points[:3], "the second set of points: no electrode among the points: expected sites beside " +
			"the landmarks"},
	} {
		if _, _, err := digitised.DigitisePair(digitised.Points{Sites: c.a}, digitised.Points{Sites: c.b},
			other,
			other,
			digitised.Options{}); err == nil || err.Error() != c.want {
			t.Errorf("%v, want %s", err, c.want)
		}
	}
}
