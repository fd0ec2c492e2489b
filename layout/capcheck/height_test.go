package capcheck

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/digitised"
	"calotte/layout/head"
	"calotte/layout/internal/geometry"
	"calotte/layout/internal/headtest"
)

// raised shifts all sites up, as a cap that is drawn up and keeps its shape.
func raised(sites []layout.Site, mm float64) []layout.Site {
	moved := slices.Clone(sites)
	for i := range moved {
		moved[i].Position.Z += mm
	}
	return moved
}

// sliddenUp moves all sites up along a sphere of 90 mm by the height's part
// there, by the angles from the vertex.
func sliddenUp(sites []layout.Site, mm float64) []layout.Site {
	moved := slices.Clone(sites)
	for i, s := range sites {
		polar := math.Acos(max(-1, min(1, s.Position.Z/90)))
		around := math.Atan2(s.Position.Y, s.Position.X)
		polar -= mm * math.Sin(polar) / 90
		moved[i].Position = r3.Scale(90,
			r3.Vec{X: math.Sin(polar) * math.Cos(around), Y: math.Sin(polar) * math.Sin(around),
				Z: math.Cos(polar)})
	}
	return moved
}

func TestCapHeight(t *testing.T) {
	ideal := headtest.Cap64(t, head.Sphere(90))
	rng := rand.New(rand.NewPCG(3, 7))
	for _, c := range []struct {
		text      string
		measured  []layout.Site
		limit     float64
		height    float64
		tolerance float64
		want      string
	}{
		{"slid up", sliddenUp(ideal, 10), 0, 10, 1e-6,
			"the cap sits 10 mm too high all round: pull it down evenly, or take a larger one"},
		{"slid up, with a limit", sliddenUp(ideal, 10), 5, 10, 1e-6,
			"the cap sits 10 mm too high all round: pull it down evenly, or take a larger one"},
		{"slid down", sliddenUp(ideal, -7), 0, -7, 1e-6,
			"the cap sits 7 mm too low all round: lift it evenly, or take a smaller one"},
		{"off the head", raised(ideal, 10), 5, 10, 0.5,
			"the cap sits 10 mm too high all round: pull it down evenly, or take a larger one"},
		{"slid up and scattered", headtest.Planted(sliddenUp(ideal, 10), r3.Vec{}, 2, rng), 12, 10, 1,
			"the cap sits 10 mm too high all round: pull it down evenly, or take a larger one"},
		{"little", sliddenUp(ideal, 2), 0, 0, 0, "leave the cap as it is"},
		{"and slid back", headtest.Planted(sliddenUp(ideal, 10), r3.Vec{X: 5}, 0, nil), 5, 10, 1e-6,
			"1. the cap sits 10 mm too high all round: pull it down evenly, or take a larger one; " +
				"2. slide the cap 8 mm forward; 3. check by tape"},
	} {
		got, err := CheckSites(ideal, c.measured, Options{Limit: c.limit})
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		if math.Abs(got.Height-c.height) > c.tolerance || got.Headline() != c.want ||
			len(got.Exchanges) != 0 {
			t.Errorf("%s: height %g mm, %q, want %g and %q", c.text, got.Height, got.Headline(),
				c.height,
				c.want)
		}
	}
}

// The stated error is that of the runs.
func TestCapHeightError(t *testing.T) {
	const runs = 400
	ideal := headtest.Cap64(t, head.Sphere(90))
	rng := rand.New(rand.NewPCG(4, 4))
	var sum, square, stated float64
	for range runs {
		c, err := CheckSites(ideal, headtest.Planted(sliddenUp(ideal, 8), r3.Vec{X: 3}, 3, rng), Options{})
		if err != nil {
			t.Fatal(err)
		}
		off := c.Height - 8
		sum, square, stated = sum+off, square+off*off, stated+c.heightError*c.heightError
	}
	mean, claim := sum/runs, math.Sqrt(stated/runs)
	sd := math.Sqrt(square/runs - mean*mean)
	t.Logf("8 mm too high: mean error %+.3f mm, sd %.3f mm, stated %.3f mm", mean, sd, claim)
	if math.Abs(mean) > 4*claim/math.Sqrt(runs) || math.Abs(sd/claim-1) > 0.12 {
		t.Errorf("off by %g mm in the mean, scattered by %g mm, stated %g mm", mean, sd, claim)
	}
}

// Sites in front only rise by a turn as by a lift: no height is told.
func TestCapHeightOfFewSites(t *testing.T) {
	ideal := layout.Sites(headtest.Place(t, head.Sphere(90), "Fpz", "Fp1", "Fp2", "AF7", "AF8", "AFz"))
	c, err := CheckSites(ideal, headtest.Planted(ideal, r3.Vec{X: 6}, 0, nil), Options{})
	if err != nil || c.Height != 0 || math.Abs(c.Turn.Pitch.Degrees-6) > 1e-6 {
		t.Errorf("height %g, pitch %+v, %v", c.Height, c.Turn.Pitch, err)
	}
}

// Without a limit, an electrode that is 24 mm off is named all the same.
func TestCapWithoutLimit(t *testing.T) {
	ideal := layout.Sites(headtest.Place(t, head.Sphere(90), layout.Set1020()...))
	off := slices.Clone(ideal)
	i := slices.IndexFunc(off, func(s layout.Site) bool { return s.Name == "C3" })
	aside := r3.Unit(r3.Cross(off[i].Position, r3.Vec{Y: 1}))
	off[i].Position = geometry.Turned(ideal[i].Position, r3.Scale(24.0/90, aside))
	c, err := CheckSites(ideal, off, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got := c.Headline(); !strings.Contains(got, "seat again C3: 24 mm off") || len(c.Beyond) != 0 {
		t.Errorf("%q, beyond %v", got, c.Beyond)
	}
	off[i].Position = geometry.Turned(ideal[i].Position, r3.Scale(12.0/90, aside))
	if c, err = CheckSites(ideal, off, Options{}); err != nil ||
		c.Headline() != "seat again C3: 12 mm off" {
		t.Errorf("%q, %v", c.Headline(), err)
	}
	// Nor is a turn left as it is that only the landmarks' error may
	// explain.
	c, err = CheckSites(ideal, headtest.Planted(ideal, r3.Vec{X: 8}, 0, nil),
		Options{Axes: headtest.PoseErrors(r3.Vec{X: 5, Y: 1, Z: 1})})
	if err != nil || len(c.Advice) != 1 || c.Advice[0].Action != CheckByTape {
		t.Errorf("advice %v, %v", c.Advice, err)
	}
}

func TestCentimetres(t *testing.T) {
	for mm, want := range map[float64]string{36.5: "3.7", 36.499999999: "3.7", 36.5000001: "3.7", 35.5: "3.6",
		36.4999: "3.6", 27.488: "2.7", 36: "3.6", 0: "0.0", 0.2: "0.0", 100: "10.0", 99.6: "10.0"} {
		if got := layout.Centimetres(mm); got != want {
			t.Errorf("%g mm: %s cm, want %s", mm, got, want)
		}
	}
	for half := range 1000 {
		mm := float64(half) + 0.5
		if layout.Centimetres(mm) != layout.Centimetres(math.Nextafter(mm, 0)) ||
			layout.Centimetres(mm) != layout.Centimetres(mm/10*10) {
			t.Errorf("%g mm: the last bit tells", mm)
		}
	}
}

// A sphere in the place of a taller head gives a height that is the model's
// fault; the head's own model gives none. A cap that stands off the head as a
// whole moves the centre, which the landmarks tell.
func TestCapHeightOfDigitised(t *testing.T) {
	model, err := head.Head{Circumference: 560, NasionInion: 380, EarEar: 370}.Model()
	if err != nil {
		t.Fatal(err)
	}
	points, truth := headtest.Digitised(t, model)
	ears := r3.Sub(truth[0].Position, points[3].Position)
	sphere := head.Sphere(head.Default().Radius())
	off, up := slices.Clone(points), slices.Clone(points)
	for i := range truth {
		off[3+i].Position.Z += 10
		up[3+i].Position = r3.Sub(lifted(truth[i].Position, 10), ears)
	}
	for _, c := range []struct {
		text            string
		points          []layout.Site
		head            head.Ellipsoid
		low, high       float64 // of the height
		digitised, seen string  // warnings
	}{
		{"in place", points, model, 0, 0, "", ""},
		{"slid up", up, model, 9, 11, "", ""},
		{"off the head", off, model, 0, 0,
			"the sites lie 10 mm higher as a whole than the landmarks and the tape say",
			""},
		{"a sphere for a tall head", points, sphere, -9, -6, "", "the head model is a sphere"},
	} {
		d, err := digitised.Digitise(digitised.Points{Sites: c.points},
			digitised.Coordinates{System: "Other", Units: "mm"}, digitised.Options{Head: c.head})
		if err != nil {
			t.Fatal(err)
		}
		check, err := CheckSites(headtest.Cap64(t, c.head), d.Sites,
			Options{Head: c.head, Axes: d.AxesCovariance})
		if err != nil {
			t.Fatal(err)
		}
		if check.Height < c.low || check.Height > c.high {
			t.Errorf("%s: height %g mm, want %g to %g", c.text, check.Height, c.low, c.high)
		}
		for _, w := range [][2]string{{strings.Join(d.Warnings, "; "), c.digitised},
			{strings.Join(check.Warnings, "; "), c.seen}} {
			if !strings.HasPrefix(w[0], w[1]) || w[1] == "" && w[0] != "" {
				t.Errorf("%s: warnings %q, want %q", c.text, w[0], w[1])
			}
		}
	}
}
