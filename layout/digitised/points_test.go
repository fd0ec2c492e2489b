package digitised_test

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/layout/digitised"
	"calotte/layout/head"
	"calotte/layout/internal/geometry"
	"calotte/layout/internal/headtest"
)

// published reads Wakeman & Henson's positions, which are metres while their
// sidecar says mm, and whose axes are told by the landmarks only.
func published(t *testing.T) (digitised.Points, digitised.Coordinates) {
	t.Helper()
	open := func(name string) *os.File {
		f, err := os.Open("../../../shared/data/bids-electrodes/" + name)
		if err != nil {
			t.Skip("the open data are not here: ", err)
		}
		t.Cleanup(func() { f.Close() })
		return f
	}
	points, err := digitised.ReadElectrodes(open("sub-02_electrodes.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	c, err := digitised.DecodeCoordinates(open("sub-02_coordsystem.json"))
	if err != nil {
		t.Fatal(err)
	}
	return points, c
}

func TestPublishedElectrodes(t *testing.T) {
	points, c := published(t)
	want := headtest.ReadReference(t).Published
	d, err := digitised.Digitise(points, c, digitised.Options{})
	if err != nil {
		t.Fatal(err)
	}
	const warning = "unit mm contradicts the numbers: taken as m, since LPA and RPA are 148.6 mm apart then and " +
		"would be 0.1486 mm with mm"
	if len(d.Sites) != 70 || d.Unit != "m" || len(d.Unknown) != 70 || d.Fitted != 70 ||
		!slices.Equal(d.Warnings, []string{warning}) {
		t.Errorf("%d sites in %s, %d unknown, %d fitted, warnings %q", len(d.Sites), d.Unit, len(d.Unknown),
			d.Fitted,
			d.Warnings)
	}
	if math.Abs(d.Radius-want.Radius) > 1e-5 || math.Abs(d.RMS-want.RMS) > 1e-5 {
		t.Errorf("sphere of %g ± %g mm, scipy %g ± %g", d.Radius, d.RMS, want.Radius, want.RMS)
	}
	for _, s := range d.Sites {
		if p, ok := want.Sites[s.Name]; ok && headtest.Apart(s.Position, headtest.Vec(p)) > 1e-5 {
			t.Errorf("%v, scipy %v", s, p)
		}
	}
	for n, p := range d.Landmarks {
		if headtest.Apart(p, headtest.Vec(want.Landmarks[string(n)])) > 1e-5 {
			t.Errorf("%s at %v, scipy %v", n, p, want.Landmarks[string(n)])
		}
	}
	// The names count the rows from left to right: 41 mirrors 49, and 72 is
	// in the middle of its row.
	found, err := digitised.GeometricPairs(d.Sites, 15)
	if err != nil || len(found.Pairs) != 30 || len(found.Unpaired) != 0 ||
		strings.Join(found.Midline,
			" ") != "EEG002 EEG006 EEG013 EEG023 EEG034 EEG045 EEG056 EEG068 EEG072 EEG074" {
		t.Errorf("%d pairs, midline %v, unpaired %v, %v", len(found.Pairs), found.Midline, found.Unpaired, err)
	}
	for _, p := range found.Pairs {
		if p.Left == "EEG041" && (p.Right != "EEG049" || math.Abs(p.Off-13.7) > 0.1) {
			t.Errorf("%+v", p)
		}
	}
}

// as writes positions along other axes and in another unit.
func as(points []layout.Site, axes digitised.Axes, mm float64) []layout.Site {
	out := make([]layout.Site, len(points))
	for i, p := range points {
		var v [3]float64
		for k := range v {
			v[k] = r3.Dot(p.Position, digitised.AxisDirections[axes[k]]) / mm
		}
		out[i] = layout.Site{Name: p.Name, Position: headtest.Vec(v)}
	}
	return out
}

func expectSites(t *testing.T, text string, got digitised.Layout, want []layout.Site, tolerance float64) {
	t.Helper()
	if len(got.Sites) != len(want) {
		t.Errorf("%s: %d sites, want %d", text, len(got.Sites), len(want))
		return
	}
	for i, s := range got.Sites {
		if s.Name != want[i].Name || headtest.Apart(s.Position, want[i].Position) > tolerance {
			t.Errorf("%s: %v, want %v", text, s, want[i])
			return
		}
	}
}

// Every system in every unit, with and without landmarks. The keywords' axes
// are spelt out here a second time.
func TestDigitiseSystems(t *testing.T) {
	model := head.Sphere(92)
	points, truth := headtest.Digitised(t, model)
	for _, s := range []struct {
		system, description string
		axes                digitised.Axes
	}{
		{"CTF", "", "ALS"}, {"4DBti", "", "ALS"}, {"KitYokogawa", "", "ALS"}, {"EEGLAB", "", "ALS"},
		{"EEGLAB-HJ", "", "ALS"},
		{"ElektaNeuromag", "", "RAS"}, {"ChietiItab", "", "RAS"}, {"CapTrak", "", "RAS"}, {"BESA", "", "RAS"},
		{"ACPC", "", "RAS"},
		{"MNI152NLin2009cAsym", "", "RAS"}, {"ICBM452AirSpace", "", "RAS"}, {"fsaverage", "", "RAS"},
		{"Talairach", "", "RAS"},
		{"Other", "x, y and z run LPS, in the scanner", "LPS"}, {"Other", "axes: PRS.", "PRS"},
	} {
		for _, u := range []struct {
			name string
			mm   float64
		}{{"mm", 1}, {"cm", 10}, {"m", 1000}} {
			text := fmt.Sprint(s.system, " in ", u.name)
			c := digitised.Coordinates{System: s.system, Description: s.description, Units: u.name,
				LandmarkUnits: u.name}
			d, err := digitised.Digitise(digitised.Points{Sites: as(points, s.axes, u.mm)}, c,
				digitised.Options{})
			if err != nil || d.Axes != s.axes || d.Unit != u.name || len(d.Warnings) != 0 ||
				math.Abs(d.Radius-92) > 1e-6 {
				t.Errorf("%s: %v, axes %s, unit %s, radius %g, warnings %q", text, err, d.Axes, d.Unit,
					d.Radius,
					d.Warnings)
				continue
			}
			expectSites(t, text, d, truth, 1e-6)
			d, err = digitised.Digitise(digitised.Points{Sites: as(points[3:], s.axes, u.mm)}, c,
				digitised.Options{})
			if err != nil || len(d.Warnings) != 1 ||
				!strings.Contains(d.Warnings[0], "NAS, LPA and RPA are not all given") {
				t.Errorf("%s without landmarks: %v, %q", text, err, d.Warnings)
				continue
			}
			expectSites(t, text+" without landmarks", d, truth, 1e-6)
		}
	}
}

// Wherever the digitiser's origin is and however it is turned, the landmarks
// bring the points home, on an ellipsoid too; four landmarks do the same.
func TestDigitiseFollowsLandmarks(t *testing.T) {
	for _, model := range []head.Ellipsoid{head.Sphere(92), headtest.Measured(t)} {
		points, truth := headtest.Digitised(t, model)
		l := model.Landmarks()
		inion := layout.Site{Name: "Inion",
			Position: r3.Sub(l.Inion, r3.Scale(0.5, r3.Add(l.LeftPreauricular, l.RightPreauricular)))}
		rapid.Check(t, func(rt *rapid.T) {
			number := rapid.Float64Range(-3, 3)
			turn := r3.Vec{X: number.Draw(rt, "x"), Y: number.Draw(rt, "y"), Z: number.Draw(rt, "z")}
			shift := r3.Scale(200, r3.Vec{X: number.Draw(rt, "sx"), Y: number.Draw(rt, "sy"),
				Z: number.Draw(rt, "sz")})
			all := slices.Clone(points)
			if rapid.Bool().Draw(rt, "inion") {
				all = append(all, inion)
			}
			for i, p := range all {
				all[i].Position = r3.Add(geometry.Turned(p.Position, turn), shift)
			}
			d, err := digitised.Digitise(digitised.Points{Sites: all},
				digitised.Coordinates{System: "Other", Units: "mm"}, digitised.Options{Head: model})
			if err != nil || len(d.Warnings) != 0 {
				rt.Fatalf("%v, %q", err, d.Warnings)
			}
			for i, s := range d.Sites {
				if headtest.Apart(s.Position, truth[i].Position) > 1e-5 {
					rt.Fatalf("%v, want %v", s, truth[i])
				}
			}
		})
	}
}

func TestDigitiseWithoutSidecar(t *testing.T) {
	points, truth := headtest.Digitised(t, head.Sphere(92))
	for _, c := range []struct {
		text     string
		points   []layout.Site
		o        digitised.Options
		warnings []string
	}{
		{"landmarks tell all", as(points, "ALS", 10), digitised.Options{},
			[]string{"no unit is stated: taken as cm",
				"no axes are stated: NAS, LPA and RPA are followed"}},
		{"the caller knows", as(points, "ALS", 10), digitised.Options{Unit: "cm", Axes: "ALS"}, nil},
		{"names tell all", as(points[3:], "PRS", 1000), digitised.Options{},
			[]string{"no unit is stated: taken as m, since the sites are up to 18",
				"no axes are stated: the site names say PRS", "not all given"}},
		{"a wrong unit", as(points, "RAS", 1000), digitised.Options{Unit: "mm", Axes: "RAS"},
			[]string{"unit mm contradicts the numbers: taken as m"}},
		{"a head of 56 mm", as(points, "RAS", 10), digitised.Options{Unit: "mm", Axes: "RAS"},
			[]string{"unit mm contradicts the numbers: taken as cm"}},
		{"a head of 560 cm", as(points, "RAS", 1), digitised.Options{Unit: "cm", Axes: "RAS"},
			[]string{"unit cm contradicts the numbers: taken as mm"}},
		{"wrong axes", as(points, "ALS", 1), digitised.Options{Unit: "mm", Axes: "RAS"},
			[]string{"do not lie along axes RAS: the landmarks are followed"}},
		{"mirrored axes, stated", as(points, "LAS", 1), digitised.Options{Unit: "mm", Axes: "LAS"}, nil},
	} {
		d, err := digitised.Digitise(digitised.Points{Sites: c.points}, digitised.Coordinates{}, c.o)
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		if len(d.Warnings) != len(c.warnings) {
			t.Errorf("%s: warnings %q, want %q", c.text, d.Warnings, c.warnings)
			continue
		}
		for i, w := range c.warnings {
			if !strings.Contains(d.Warnings[i], w) {
				t.Errorf("%s: warning %q, want %q", c.text, d.Warnings[i], w)
			}
		}
		expectSites(t, c.text, d, truth, 1e-6)
	}
}

// Landmarks in their own unit, spelt in practice's ways.
func TestDigitiseLandmarkSpellings(t *testing.T) {
	points, truth := headtest.Digitised(t, head.Sphere(92))
	for _, names := range [][3]string{{"NAS", "LPA", "RPA"}, {"Nasion", "lpa", "rpa"}, {"FidNz", "FidT9", "FidT10"},
		{"nasion", "Left_Ear", "right ear"}, {"NAS", "LHJ", "RHJ"}} {
		c := digitised.Coordinates{System: "Other", Units: "cm", LandmarkUnits: "m",
			Landmarks: map[string]r3.Vec{}}
		renamed := slices.Clone(points)
		for i, n := range names {
			renamed[i].Name = n
			c.Landmarks[n] = r3.Scale(0.001, points[i].Position)
		}
		d, err := digitised.Digitise(digitised.Points{Sites: as(points[3:], "RAS", 10)}, c, digitised.Options{})
		if err != nil || len(d.Warnings) != 0 {
			t.Errorf("%v in the sidecar: %v, %q", names, err, d.Warnings)
		}
		expectSites(t, fmt.Sprint(names), d, truth, 1e-6)
		d, err = digitised.Digitise(digitised.Points{Sites: renamed},
			digitised.Coordinates{System: "Other", Units: "mm"}, digitised.Options{})
		if err != nil || len(d.Warnings) != 0 {
			t.Errorf("%v in the table: %v, %q", names, err, d.Warnings)
		}
		expectSites(t, fmt.Sprint(names), d, truth, 1e-6)
	}
	// An electrode Iz does not turn the head; a point Nz is the nasion
	// where none is.
	points[0].Name = "Nz"
	iz := slices.IndexFunc(points, func(s layout.Site) bool { return s.Name == "Iz" })
	points[iz].Position.Z += 20
	d, err := digitised.Digitise(digitised.Points{Sites: points},
		digitised.Coordinates{System: "Other", Units: "mm"},
		digitised.Options{})
	if err != nil || len(d.Landmarks) != 3 || len(d.Sites) != 64 || len(d.Warnings) != 1 ||
		!strings.Contains(d.Warnings[0], "point Nz is taken for the nasion") {
		t.Errorf("%v, landmarks %v, %d sites, %q", err, d.Landmarks, len(d.Sites), d.Warnings)
	}
}

// A few sites give no sphere: the head of the tape takes its place.
func TestDigitiseFewSites(t *testing.T) {
	model := headtest.Measured(t)
	points, truth := headtest.Digitised(t, model)
	d, err := digitised.Digitise(digitised.Points{Sites: points[:9]},
		digitised.Coordinates{System: "CTF", Units: "mm"},
		digitised.Options{Head: model, Axes: "RAS"})
	if err != nil || d.Fitted != 0 || math.Abs(d.Radius-560/(2*math.Pi)) > 1e-9 || len(d.Warnings) != 0 {
		t.Errorf("%v, %d fitted, radius %g, %q", err, d.Fitted, d.Radius, d.Warnings)
	}
	expectSites(t, "with landmarks", d, truth[:6], 1e-9)
	sphere := head.Sphere(92)
	points, truth = headtest.Digitised(t, sphere)
	d, err = digitised.Digitise(digitised.Points{Sites: as(points[3:9], "ALS", 1)},
		digitised.Coordinates{System: "CTF", Units: "mm"}, digitised.Options{Head: sphere})
	if err != nil || len(d.Warnings) != 1 {
		t.Errorf("%v, %q", err, d.Warnings)
	}
	expectSites(t, "from between the ears", d, truth[:6], 1e-9)
}

func TestDigitiseTipOffset(t *testing.T) {
	for _, model := range []head.Ellipsoid{head.Sphere(92), headtest.Measured(t)} {
		points, truth := headtest.Digitised(t, model)
		for i, p := range points[3:] {
			q := truth[i].Position
			normal := r3.Unit(model.ToUnit(model.ToUnit(q)))
			points[i+3].Position = r3.Add(p.Position, r3.Scale(6, normal))
		}
		d, err := digitised.Digitise(digitised.Points{Sites: points},
			digitised.Coordinates{System: "Other", Units: "mm"},
			digitised.Options{Head: model, TipOffset: 6})
		if err != nil || len(d.Warnings) != 0 || math.Abs(d.Radius-digitised.RingRadius(model)) > 0.5 {
			t.Errorf("%v, radius %g, want %g, %q", err, d.Radius, digitised.RingRadius(model), d.Warnings)
		}
		// A surface 6 mm off an ellipsoid is nearly one of the same
		// proportions.
		expectSites(t, "tips", d, truth, 0.5)
	}
}

func TestDigitiseLeavesItsInput(t *testing.T) {
	points, _ := headtest.Digitised(t, head.Sphere(92))
	points[0].Name = "Nz"
	before := slices.Clone(points)
	if _, err := digitised.Digitise(digitised.Points{Sites: points},
		digitised.Coordinates{System: "Other", Units: "mm"}, digitised.Options{TipOffset: 6}); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(points, before) {
		t.Error("the points are changed")
	}
}
