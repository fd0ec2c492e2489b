package scalp_test

import (
	"bytes"
	"compress/zlib"
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/cmpimg"
	"gonum.org/v1/plot/vg"
)

// The examples look as they did when they were looked at, through all of plot's
// own back ends.
func TestMapPictures(t *testing.T) {
	discard := save
	defer func() { save = discard }()
	save = func(p *plot.Plot, width, height vg.Length, name string) error {
		w, err := p.WriterTo(width, height, name[len(name)-3:])
		if err != nil {
			return err
		}
		var got bytes.Buffer
		if _, err := w.WriteTo(&got); err != nil {
			return err
		}
		path := filepath.Join("..", "..", "testdata", "render", "plot-"+name)
		if flag.Lookup("update").Value.String() == "true" {
			if err := os.WriteFile(path, got.Bytes(), 0o644); err != nil {
				return err
			}
		}
		want, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if !sameDrawing(t, filepath.Ext(name), got.Bytes(), want) {
			t.Errorf("the plot differs from %s: run the test with -update, and look at the difference",
				path)
		}
		return nil
	}
	ExampleMap()
	ExampleMap_insets()
}

// sameDrawing compares pictures with a tolerance, and drawings number by
// number.
func sameDrawing(t *testing.T, format string, got, want []byte) bool {
	t.Helper()
	switch format {
	case ".png":
		same, err := cmpimg.EqualApprox("png", got, want, .02)
		if err != nil {
			t.Fatal(err)
		}
		return same
	case ".pdf":
		got, want = firstPage(t, got), firstPage(t, want)
	}
	const tolerance = .02 // pt, for other architectures' last bits
	numbers := regexp.MustCompile(`-?[0-9]+(\.[0-9]+)?`)
	if !bytes.Equal(numbers.ReplaceAll(got, nil), numbers.ReplaceAll(want, nil)) {
		return false
	}
	old := numbers.FindAll(want, -1)
	for i, n := range numbers.FindAll(got, -1) {
		a, errA := strconv.ParseFloat(string(n), 64)
		b, errB := strconv.ParseFloat(string(old[i]), 64)
		if errA != nil || errB != nil || math.Abs(a-b) > tolerance {
			return false
		}
	}
	return true
}

// firstPage is what draws the first page of a PDF.
func firstPage(t *testing.T, file []byte) []byte {
	t.Helper()
	_, after, found := bytes.Cut(file, []byte("stream\n"))
	if !found {
		t.Fatal("a PDF without a page")
	}
	r, err := zlib.NewReader(bytes.NewReader(after))
	if err != nil {
		t.Fatal(err)
	}
	page, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	return page
}
