package scan

import (
	"errors"
	"os"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout/hostile"
	"calotte/layout/rowtable"
)

func TestReadLandmarks(t *testing.T) {
	want := Landmarks{r3.Vec{Y: 90, Z: -30}, r3.Vec{Y: -90, Z: -30}, r3.Vec{X: -75.5}, r3.Vec{X: 75.5}}
	for _, text := range []string{
		"name\tx\ty\tz\nNAS\t0\t90\t-30\nINI\t0\t-90\t-30\nLPA\t-75.5\t0\t0\nRPA\t75.5\t0\t0\n",
		"\ufeffName X Y Z\r\nlpa -75.5 0 0\r\nrpa 7.55e1 0 0\r\n\r\nNz 0 90 -30\r\nIz 0 -90 -30",
		"name x y z\nnasion 0 90 -30\nInion 0 -90 -30\nLPA -75.5 0 0\nRPA 75.5 0 0",
	} {
		if got, err := ReadLandmarks(strings.NewReader(text)); err != nil || got != want {
			t.Errorf("%q: %v, %v", text, got, err)
		}
	}
}

func TestReadLandmarksRefuses(t *testing.T) {
	const head = "name x y z\n"
	const three = head + "NAS 0 90 -30\nLPA -75 0 0\nRPA 75 0 0\n"
	for _, c := range []struct {
		text string
		line int
		want string
	}{
		{"", 0, "landmark NAS and INI and LPA and RPA is missing"},
		{three, 0, "landmark INI is missing: mark NAS, INI, LPA and RPA on the scan"},
		{"NAS 0 90 -30\n", 1, "expected the header: name x y z"},
		{head + "NAS 0 90\n", 2, "3 columns: expected name, x, y and z"},
		{head + "Cz 0 0 90\n", 2, `landmark "Cz": expected NAS, INI, LPA or RPA`},
		{head + "nose 0 0 90\n", 2, `landmark "nose": expected NAS`},
		{three + "nasion 0 0 90\n", 5, `landmark "nasion" is given already in line 2`},
		{three + "INI 0 0 n/a\n", 5, `landmark "INI": "n/a": expected a number`},
		{head + strings.Repeat("9", 1<<17), 0, "a line of more than 64 kB"},
		{three + "INI 0 0 NaN\n", 5, `landmark "INI": "NaN": expected a number`},
	} {
		_, err := ReadLandmarks(strings.NewReader(c.text))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: %v, want %s", c.text, err, c.want)
		}
		if at, ok := errors.AsType[*rowtable.Error](err); ok != (c.line > 0) || ok && at.Line != c.line {
			t.Errorf("%q: %v, want line %d", c.text, err, c.line)
		}
	}
}

func FuzzReadLandmarks(f *testing.F) {
	for _, text := range hostile.Seeds(f, os.DirFS("../../testdata/corpus"), "meshes/*.tsv") {
		f.Add(string(text))
	}
	f.Add("name\tx\ty\tz\nNAS\t0\t90\t-30\nINI\t0\t-90\t-30\nLPA\t-75.5\t0\t0\nRPA\t75.5\t0\t0\n")
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
		l, err := ReadLandmarks(strings.NewReader(text))
		if err != nil {
			return
		}
		l.each(func(name string, v r3.Vec) r3.Vec {
			if !isFinite(v) {
				t.Errorf("%q: %s at %v", text, name, v)
			}
			return v
		})
	})
}
