package digitised

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/layout/hostile"
	"calotte/layout/internal/headtest"
	"calotte/layout/rowtable"
)

func TestElectrodesComeBack(t *testing.T) {
	e := headtest.Measured(t)
	sites := layout.Sites(headtest.Place(t, e, layout.Set1010()...))
	var table, sidecar bytes.Buffer
	if err := WriteElectrodes(&table, sites); err != nil {
		t.Fatal(err)
	}
	if err := RAS(e).Encode(&sidecar); err != nil {
		t.Fatal(err)
	}
	if first, _, _ := strings.Cut(table.String(),
		"\nNz"); first != "name\tx\ty\tz\nN1\t-25.3252\t83.0976\t-34.7294" {
		t.Errorf("the file begins %q", first)
	}
	c, err := DecodeCoordinates(&sidecar)
	if err != nil {
		t.Fatal(err)
	}
	points, err := ReadElectrodes(&table)
	if err != nil {
		t.Fatal(err)
	}
	got, err := Digitise(points, c, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Sites) != len(sites) || len(got.Warnings) != 0 || len(got.Landmarks) != 3 {
		t.Fatalf("%d of %d sites come back, landmarks %v, warnings %v", len(got.Sites), len(sites),
			got.Landmarks,
			got.Warnings)
	}
	for i, s := range got.Sites {
		if s.Name != sites[i].Name || headtest.Apart(s.Position, sites[i].Position) > 1e-4 {
			t.Errorf("%v comes back as %v", sites[i], s)
		}
	}
}

// The fields that BIDS 1.8 requires of EEG coordinate systems, from memory of
// its text, and the landmarks.
func TestCoordinatesHaveTheRequiredFields(t *testing.T) {
	var b bytes.Buffer
	if err := RAS(head.Sphere(100)).Encode(&b); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		`"EEGCoordinateSystem": "Other"`, `"EEGCoordinateUnits": "mm"`,
		`"EEGCoordinateSystemDescription": "Origin`,
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
	got, err := ReadElectrodes(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	want := []layout.Site{
		{Name: "T3", Position: r3.Vec{X: 1, Y: 2, Z: 3}},
		{Name: "EEG 001", Position: r3.Vec{X: -1, Y: -2.5, Z: -3}},
	}
	if !slices.Equal(got.Sites, want) || !slices.Equal(got.Without, []string{"F3"}) {
		t.Errorf("read %v, want %v and F3 without", got, want)
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
		{header + "Cz\t1\tInf\t3\n", 2, `y is "Inf"`},
		{header + "Cz\t1\t1e999\t3\n", 2, `y is "1e999"`},
		{header + "Cz\tn/a\tx\t3\n", 2, `y is "x"`},
		{header + "Cz\t1\t\t3\n", 2, `y is ""`},
		{header + "\t1\t2\t3\n", 2, "no name"},
		{header + "C\xfcz\t1\t2\t3\n", 2, "not UTF-8"},
		{header + "F3\t1\t2\t3\nFz\t1\t2\t4\nf3\t1\t2\t5\n", 4, `site "f3" is given already in line 2`},
		{header + "T3\t1\t2\t3\nT7\t1\t2\t4\n", 3, `site "T7" is given already in line 2`},
		{header + "NAS\t1\t2\t3\nnasion\t1\t2\t4\n", 3, `site "nasion" is given already in line 2`},
		{header + "E1\tn/a\t2\t3\nE1\t1\t2\t4\n", 3, `site "E1" is given already in line 2`},
		{header + electrodeRows(layout.MostSites+1), layout.MostSites + 2,
			"more than 2000 electrodes: no cap has as many"},
	} {
		_, err := ReadElectrodes(strings.NewReader(c.text))
		line := 0
		if at, ok := errors.AsType[*rowtable.Error](err); ok {
			line = at.Line
		}
		if err == nil || line != c.line || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: line %d, %v, want line %d, %s", c.text, line, err, c.line, c.want)
		}
	}
}

func TestReadElectrodesTakesAsManyAsThereMayBe(t *testing.T) {
	got, err := ReadElectrodes(strings.NewReader("name\tx\ty\tz\n" + electrodeRows(layout.MostSites)))
	if err != nil || len(got.Sites) != layout.MostSites {
		t.Errorf("%d sites, %v", len(got.Sites), err)
	}
}

// electrodeRows are so many rows of electrodes.
func electrodeRows(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "E%d\t1\t2\t%d\n", i, i%100)
	}
	return b.String()
}

func TestWriteElectrodesRefuses(t *testing.T) {
	for _, name := range []string{"", "a\tb", "a\nb"} {
		if err := WriteElectrodes(&bytes.Buffer{}, []layout.Site{{Name: name}}); err == nil {
			t.Errorf("%q is written", name)
		}
	}
	for _, p := range []r3.Vec{{X: math.NaN()}, {Z: math.Inf(-1)}} {
		if err := WriteElectrodes(&bytes.Buffer{}, []layout.Site{{Name: "Cz", Position: p}}); err == nil {
			t.Errorf("%v is written", p)
		}
	}
}

func TestDecodeCoordinatesRefuses(t *testing.T) {
	for _, text := range []string{"", "[]", "{}",
		`{"EEGCoordinateSystem": "Other", "AnatomicalLandmarkCoordinates": {"NAS": [1, 2]}}`,
		`{"EEGCoordinateSystem": "Other", "AnatomicalLandmarkCoordinates": {"NAS": [1, 2, "x"]}}`,
		`{"EEGCoordinateSystem": "Other", "AnatomicalLandmarkCoordinates": {"NAS": [1, 2, [3]]}}`,
		`{"EEGCoordinateSystem": "Other", "AnatomicalLandmarkCoordinates": {"NAS": 1}}`,
		`{"EEGCoordinateSystem": 1}`,
		`{"EEGCoordinateSystem": "Other"`} {
		if c, err := DecodeCoordinates(strings.NewReader(text)); err == nil {
			t.Errorf("%q: %+v", text, c)
		}
	}
}

func FuzzReadElectrodes(f *testing.F) {
	for _, text := range hostile.Seeds(f, os.DirFS("../../testdata/corpus"), "electrodes/*_electrodes.tsv") {
		f.Add(text)
	}
	f.Add([]byte("name\tx\ty\tz\nCz\t0\t0\t90\n"))
	f.Add([]byte("\ufeffz\ty\tx\tname\r\n1\t2\tn/a\tT3\r\n1\t2\t3\tT4"))
	f.Add([]byte("name\tx\ty\tz\tname\n"))
	f.Add([]byte("name\tx\ty\tz\n\"\t1e308\t-0\t0x1p3\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		defer hostile.Budget(t, len(text))()
		points, err := ReadElectrodes(bytes.NewReader(text))
		if err != nil {
			return
		}
		if err := CheckSites(points.Sites); err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		var b bytes.Buffer
		if err := WriteElectrodes(&b, points.Sites); err != nil {
			return // too far away
		}
		again, err := ReadElectrodes(&b)
		if err != nil || len(again.Sites) != len(points.Sites) {
			t.Errorf("%q: %v come back as %v, %v", text, points, again, err)
		}
	})
}

// Sidecars that are wrong in a few places are refused in one line, or
// understood.
func FuzzCoordinatesEdited(f *testing.F) {
	var table, sidecar bytes.Buffer
	placed, err := layout.Place(head.Sphere(90), layout.Set1020())
	if err != nil {
		f.Fatal(err)
	}
	if err := errors.Join(WriteElectrodes(&table, layout.Sites(placed)),
		RAS(head.Sphere(90)).Encode(&sidecar)); err != nil {
		f.Fatal(err)
	}
	points, err := ReadElectrodes(&table)
	if err != nil {
		f.Fatal(err)
	}
	documents := append(hostile.Seeds(f, os.DirFS("../../testdata/corpus"), "electrodes/ears_coordsystem.json"),
		sidecar.Bytes())
	f.Add(byte(0), []byte{0, 3, 0, 4, 0, 7, 1, 2})
	f.Add(byte(1), []byte{0, 5, 5, 9})
	f.Fuzz(func(t *testing.T, which byte, script []byte) {
		text := hostile.Edit(documents[int(which)%len(documents)], script)
		defer hostile.Budget(t, len(text))()
		c, err := DecodeCoordinates(bytes.NewReader(text))
		if err == nil {
			_, err = Digitise(points, c, Options{})
		}
		if err != nil && (strings.ContainsAny(err.Error(), "\r\n\x1b") || len(err.Error()) > 500) {
			t.Errorf("not a short line: %q", err)
		}
	})
}

func FuzzDecodeCoordinates(f *testing.F) {
	f.Add([]byte(`{"EEGCoordinateSystem": "Other", "EEGCoordinateUnits": "mm", "AnatomicalLandmarkCoordinates": {"NAS": [0, 1, 2]}}`))
	f.Add([]byte(`{"EEGCoordinateSystem": "CTF", "EEGCoordinateUnits": "mm"}`))
	f.Add([]byte("\ufeff{\"EEGCoordinateSystem\": \"Other\", \"FiducialsCoordinates\": {\"NAS\": [\"n/a\", 1, 2], " +
		"\"LPA\": null}}"))
	f.Fuzz(func(t *testing.T, text []byte) {
		defer hostile.Budget(t, len(text))()
		c, err := DecodeCoordinates(bytes.NewReader(text))
		if err != nil {
			return
		}
		d, err := Digitise(Points{Sites: []layout.Site{{Name: "Cz", Position: r3.Vec{Z: 90}}}}, c, Options{})
		if err == nil && (d.Unit == "" || !(r3.Norm(d.Sites[0].Position) < 1e4)) {
			t.Errorf("%q: %+v", text, d)
		}
	})
}
