package layout

import (
	"bytes"
	"errors"
	"math"
	"os"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

var plain = Coordinates{System: "Other", Units: "mm"}

func TestElectrodesComeBack(t *testing.T) {
	e := measured(t)
	sites := Sites(mustPlace(t, e, Set1010()...))
	var table, sidecar bytes.Buffer
	if err := WriteElectrodes(&table, sites); err != nil {
		t.Fatal(err)
	}
	if err := RAS(e).Encode(&sidecar); err != nil {
		t.Fatal(err)
	}
	if first, _, _ := strings.Cut(table.String(), "\nNz"); first != "name\tx\ty\tz\nN1\t-25.3252\t83.0976\t-34.7294" {
		t.Errorf("the file begins %q", first)
	}
	c, err := DecodeCoordinates(&sidecar)
	if err != nil {
		t.Fatal(err)
	}
	got, err := ReadElectrodes(&table, c)
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != len(sites) {
		t.Fatalf("%d of %d sites come back", len(got), len(sites))
	}
	for i, s := range got {
		if s.Name != sites[i].Name || apart(s.Position, sites[i].Position) > 1e-4 {
			t.Errorf("%v comes back as %v", sites[i], s)
		}
	}
}

// The fields that BIDS 1.8 requires of EEG coordinate systems, from memory of its
// text, and the landmarks.
func TestCoordinatesHaveTheRequiredFields(t *testing.T) {
	var b bytes.Buffer
	if err := RAS(Sphere(100)).Encode(&b); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		`"EEGCoordinateSystem": "Other"`, `"EEGCoordinateUnits": "mm"`, `"EEGCoordinateSystemDescription": "Origin`,
		`"AnatomicalLandmarkCoordinates": {`, `"AnatomicalLandmarkCoordinateSystem": "Other"`,
		`"AnatomicalLandmarkCoordinateUnits": "mm"`, `"AnatomicalLandmarkCoordinateSystemDescription": "Origin`,
		// 22.5° below the ring, on a sphere of 100 mm.
		"\"LPA\": [\n      -92.388,\n      0,\n      -38.2683\n    ]",
		"\"NAS\": [\n      0,\n      92.388,\n      -38.2683\n    ]",
	} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("%s lacks %s", b.String(), want)
		}
	}
}

func TestReadElectrodes(t *testing.T) {
	text := "\ufefftype\tz\ty\tx\tname\r\n" +
		"cup\t3\t2\t1\tT3\r\n" +
		"cup\tn/a\t2\t1\tF3\r\n" +
		"\r\n" +
		"5\" ring\t-3e0\t-2.5\t-1\tEEG 001"
	got, err := ReadElectrodes(strings.NewReader(text), Coordinates{System: "Other", Units: "cm"})
	if err != nil {
		t.Fatal(err)
	}
	want := []Site{
		{"T3", r3.Vec{X: 10, Y: 20, Z: 30}},
		{"EEG 001", r3.Vec{X: -10, Y: -25, Z: -30}},
	}
	if len(got) != 2 || got[0] != want[0] || got[1] != want[1] {
		t.Errorf("read %v, want %v", got, want)
	}
}

func TestReadElectrodesRefuses(t *testing.T) {
	const header = "name\tx\ty\tz\n"
	for _, c := range []struct {
		text string
		line int
		want string
	}{
		{"", 1, `no column "name"`},
		{"name,x,y,z\n", 1, `no column "name"`},
		{"name\tx\ty\n", 1, `no column "z"`},
		{"name\tx\ty\tz\tx\n", 1, `column "x" is given twice`},
		{header, 0, "no electrode has a position"},
		{header + "Cz\tn/a\tn/a\tn/a\n", 0, "no electrode has a position"},
		{header + "Cz\t1\t2\n", 2, "3 columns: expected 4"},
		{header + "Cz\t1\t2\t3\t4\n", 2, "5 columns: expected 4"},
		{header + "Cz\t1\t2\t3\n\nFz\t1\ttwo\t3\n", 4, `site "Fz": y is "two": expected a number or n/a`},
		{header + "Cz\t1\t2\tNaN\n", 2, `z is "NaN"`},
		{header + "Cz\t1\tInf\t3\n", 2, `site "Cz" is +Inf mm from the origin`},
		{header + "Cz\t1\t90000\t3\n", 2, `site "Cz" is 9e+04 mm from the origin: expected 2000 mm at most, check the unit`},
		{header + "Cz\t1\t1e999\t3\n", 2, `y is "1e999"`},
		{header + "Cz\tn/a\tx\t3\n", 2, `y is "x"`},
		{header + "Cz\t1\t\t3\n", 2, `y is ""`},
		{header + "\t1\t2\t3\n", 2, "no name"},
		{header + "F3\t1\t2\t3\nFz\t1\t2\t4\nf3\t1\t2\t5\n", 4, `site "f3" is given already in line 2`},
		{header + "T3\t1\t2\t3\nT7\t1\t2\t4\n", 3, `site "T7" is given already in line 2`},
		{header + "E1\tn/a\t2\t3\nE1\t1\t2\t4\n", 3, `site "E1" is given already in line 2`},
	} {
		_, err := ReadElectrodes(strings.NewReader(c.text), plain)
		line := 0
		if at, ok := errors.AsType[*LineError](err); ok {
			line = at.Line
		}
		if err == nil || line != c.line || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: line %d, %v, want line %d, %s", c.text, line, err, c.line, c.want)
		}
	}
}

func TestReadElectrodesChecksCoordinates(t *testing.T) {
	triangle := func(left, right, nasion r3.Vec) map[string]r3.Vec {
		return map[string]r3.Vec{"LPA": left, "RPA": right, "NAS": nasion}
	}
	upright := triangle(r3.Vec{X: -7}, r3.Vec{X: 7}, r3.Vec{Y: 10})
	const table = "name\tx\ty\tz\nCz\t0\t0\t0.09\n"
	for _, c := range []struct {
		c    Coordinates
		want string // empty where the positions are read
	}{
		{plain, ""},
		{Coordinates{System: "Other", Units: "m"}, ""},
		{Coordinates{System: "Other", Units: "cm", Landmarks: upright, LandmarkUnits: "cm"}, ""},
		{Coordinates{System: "CTF", Units: "cm", Landmarks: upright, LandmarkUnits: "cm"}, ""},
		{Coordinates{System: "Other"}, "unit of positions is missing"},
		{Coordinates{System: "Other", Units: "n/a"}, `unit "n/a" of positions: expected m, cm or mm`},
		{Coordinates{System: "Other", Units: "inches"}, `unit "inches"`},
		{Coordinates{System: "Other", Units: "cm", Landmarks: upright, LandmarkUnits: "ft"}, `unit "ft"`},
		{Coordinates{System: "CTF", Units: "cm"}, `system "CTF" without NAS, LPA and RPA`},
		{Coordinates{System: "Other", Units: "mm", Landmarks: upright, LandmarkUnits: "mm"}, "LPA and RPA are 14 mm apart"},
		{Coordinates{System: "Other", Units: "m", Landmarks: upright, LandmarkUnits: "m"}, "LPA and RPA are 1.4e+04 mm apart"},
		{Coordinates{System: "Other", Units: "cm", LandmarkUnits: "cm",
			Landmarks: triangle(r3.Vec{Y: 7}, r3.Vec{Y: -7}, r3.Vec{X: 10})}, "not along the axes"},
		{Coordinates{System: "Other", Units: "cm", LandmarkUnits: "cm",
			Landmarks: triangle(r3.Vec{X: 7}, r3.Vec{X: -7}, r3.Vec{Y: 10})}, "not along the axes"},
		{Coordinates{System: "Other", Units: "cm", LandmarkUnits: "cm",
			Landmarks: triangle(r3.Vec{X: -7}, r3.Vec{X: 7}, r3.Vec{Y: -10})}, "not along the axes"},
	} {
		_, err := ReadElectrodes(strings.NewReader(table), c.c)
		if (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: %v, want %q", c.c, err, c.want)
		}
	}
}

// Wakeman & Henson's positions are metres while their sidecar says mm.
func TestPublishedElectrodes(t *testing.T) {
	open := func(name string) *os.File {
		f, err := os.Open("../../shared/data/bids-electrodes/" + name)
		if err != nil {
			t.Skip("the open data are not here: ", err)
		}
		t.Cleanup(func() { f.Close() })
		return f
	}
	table := open("sub-02_electrodes.tsv")
	c, err := DecodeCoordinates(open("sub-02_coordsystem.json"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := ReadElectrodes(table, c); err == nil || !strings.Contains(err.Error(), "LPA and RPA are 0.1486 mm apart") {
		t.Errorf("read as mm: %v", err)
	}
	c.Units, c.LandmarkUnits = "m", "m"
	sites, err := ReadElectrodes(table, c)
	if err != nil {
		t.Fatal(err)
	}
	if len(sites) != 70 || sites[0].Name != "EEG001" {
		t.Errorf("%d sites, the first %v, want 70 from EEG001", len(sites), sites[0])
	}
	for _, s := range sites {
		if d := r3.Norm(s.Position); d < 40 || d > 160 {
			t.Errorf("%v is %g mm from the origin", s, d)
		}
	}
}

func TestWriteElectrodesRefuses(t *testing.T) {
	for _, name := range []string{"", "a\tb", "a\nb"} {
		if err := WriteElectrodes(&bytes.Buffer{}, []Site{{Name: name}}); err == nil {
			t.Errorf("%q is written", name)
		}
	}
	for _, p := range []r3.Vec{{X: math.NaN()}, {Z: math.Inf(-1)}} {
		if err := WriteElectrodes(&bytes.Buffer{}, []Site{{"Cz", p}}); err == nil {
			t.Errorf("%v is written", p)
		}
	}
}

func TestDecodeCoordinatesRefuses(t *testing.T) {
	for _, text := range []string{"", "[]", "{}", `{"EEGCoordinateSystem": 1}`, `{"EEGCoordinateSystem": "Other"`} {
		if c, err := DecodeCoordinates(strings.NewReader(text)); err == nil {
			t.Errorf("%q: %+v", text, c)
		}
	}
}

func FuzzReadElectrodes(f *testing.F) {
	f.Add([]byte("name\tx\ty\tz\nCz\t0\t0\t90\n"))
	f.Add([]byte("\ufeffz\ty\tx\tname\r\n1\t2\tn/a\tT3\r\n1\t2\t3\tT4"))
	f.Add([]byte("name\tx\ty\tz\tname\n"))
	f.Add([]byte("name\tx\ty\tz\n\"\t1e308\t-0\t0x1p3\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		sites, err := ReadElectrodes(bytes.NewReader(text), plain)
		if err != nil {
			return
		}
		for _, s := range sites {
			if d := r3.Norm(s.Position); s.Name == "" || math.IsNaN(d) {
				t.Errorf("%q: %v", text, s)
			}
		}
		var b bytes.Buffer
		if err := WriteElectrodes(&b, sites); err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		again, err := ReadElectrodes(&b, plain)
		if err != nil || len(again) != len(sites) {
			t.Errorf("%q: %d sites come back as %d, %v", text, len(sites), len(again), err)
		}
	})
}

func FuzzDecodeCoordinates(f *testing.F) {
	f.Add([]byte(`{"EEGCoordinateSystem": "Other", "EEGCoordinateUnits": "mm", "AnatomicalLandmarkCoordinates": {"NAS": [0, 1, 2]}}`))
	f.Add([]byte(`{"EEGCoordinateSystem": "CTF"}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		c, err := DecodeCoordinates(bytes.NewReader(text))
		if err != nil {
			return
		}
		if _, err := ReadElectrodes(strings.NewReader("name\tx\ty\tz\nCz\t0\t0\t90\n"), c); err == nil && c.Units == "" {
			t.Errorf("%q is read without a unit", text)
		}
	})
}
