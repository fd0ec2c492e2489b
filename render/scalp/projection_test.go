package scalp

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/internal/figtest"
)

func TestProjectionRoundTrip(t *testing.T) {
	for _, view := range []Projection{OnDisc, TopView(figtest.LongHead(t))} {
		rapid.Check(t, func(t *rapid.T) {
			colatitude := rapid.Float64Range(0, math.Pi-1e-3).Draw(t, "colatitude")
			azimuth := rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "azimuth")
			length := rapid.Float64Range(.1, 200).Draw(t, "length")
			sin, cos := math.Sincos(colatitude)
			want := r3.Vec{X: sin * math.Sin(azimuth), Y: sin * math.Cos(azimuth), Z: cos}
			got := view.Direction(view.Project(r3.Scale(length, want)))
			if d := r3.Norm(r3.Sub(got, want)); d > 1e-12 {
				t.Errorf("%v came back as %v, %g away", want, got, d)
			}
		})
	}
}

// Snyder (1987), the worked example of the azimuthal equidistant projection of
// the sphere: centre 40° N 100° W, radius 3, the point 20° S 100° E. The
// numbers are from memory of the book; that they agree to all their digits
// confirms them.
func TestProjectionAgainstSnyder(t *testing.T) {
	deg := math.Pi / 180
	onGlobe := func(latitude, longitude float64) r3.Vec {
		return r3.Vec{
			X: math.Cos(latitude*deg) * math.Cos(longitude*deg),
			Y: math.Cos(latitude*deg) * math.Sin(longitude*deg),
			Z: math.Sin(latitude * deg),
		}
	}
	center, point := onGlobe(40, -100), onGlobe(-20, 100)
	north := r3.Unit(r3.Sub(r3.Vec{Z: 1}, r3.Scale(center.Z, center)))
	east := r3.Cross(north, center)
	got := r2.Scale(3*EdgeColatitude, OnDisc.Project(r3.Vec{
		X: r3.Dot(point, east), Y: r3.Dot(point, north), Z: r3.Dot(point, center),
	}))
	want := r2.Vec{X: -5.8311398, Y: 5.5444634}
	if r2.Norm(r2.Sub(got, want)) > 1e-7 {
		t.Errorf("got %.7f, want %.7f", got, want)
	}
}

func TestProjectionOfSites(t *testing.T) {
	want := map[layout.Name]r2.Vec{
		"Cz": {}, "Nz": {Y: 1}, "Iz": {Y: -1}, "T10": {X: 1}, "T9": {X: -1},
		"Fpz": {Y: .8}, "Oz": {Y: -.8}, "T8": {X: .8}, "C4": {X: .4}, "Pz": {Y: -.4},
	}
	var names []layout.Name
	for n := range want {
		names = append(names, n)
	}
	for _, s := range figtest.Place(t, head.Sphere(89), names) {
		if got := OnDisc.Project(s.Position); r2.Norm(r2.Sub(got, want[layout.Name(s.Name)])) > 1e-12 {
			t.Errorf("%s lies at %v, want %v", s.Name, got, want[layout.Name(s.Name)])
		}
	}
}

// The lower ring of 10-10 is the edge: exactly on a sphere, and on other heads
// closer than the outline is wide.
func TestLowerRingIsTheEdge(t *testing.T) {
	names := []layout.Name{"Nz", "N1", "N2", "AF9", "AF10", "F9", "F10", "FT9", "FT10", "T9", "T10", "TP9", "TP10",
		"P9", "P10", "PO9", "PO10", "I1", "I2", "Iz"}
	wide, err := head.Head{Circumference: 560, NasionInion: 330, EarEar: 360}.Model()
	if err != nil {
		t.Fatal(err)
	}
	for _, model := range []struct {
		name   string
		shape  head.Ellipsoid
		within float64
	}{{"sphere", head.Sphere(89), 1e-12}, {"long", figtest.LongHead(t), 4e-3}, {"wide", wide, 4e-3}} {
		view := TopView(model.shape).Disc()
		for _, s := range figtest.Place(t, model.shape, names) {
			if got := r2.Norm(view.Project(s.Position)); math.Abs(got-1) > model.within {
				t.Errorf("%s head: %s lies at %.5f of the edge's distance", model.name, s.Name, got)
			}
		}
	}
}

func TestTopViewProportions(t *testing.T) {
	e := figtest.LongHead(t)
	view := TopView(e)
	if view.Front != 1 || math.Abs(view.Right-e.Right/e.Front) > 1e-15 {
		t.Errorf("half-axes %g and %g for a head of %g by %g", view.Right, view.Front, e.Right, e.Front)
	}
	if TopView(head.Ellipsoid{}) != OnDisc {
		t.Error("no head is not a sphere")
	}
}
