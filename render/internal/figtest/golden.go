package figtest

import (
	"bytes"
	"flag"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"gonum.org/v1/plot/cmpimg"

	"calotte/render/canvas"
	"calotte/topo/provenance"
)

// CheckGolden compares a figure's PNG with the picture that was looked at and
// kept.
func CheckGolden(t *testing.T, name string, f canvas.Figure) {
	t.Helper()
	var b bytes.Buffer
	if err := canvas.Write(&b, f, canvas.PNG, provenance.Record{}); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join("..", "..", "testdata", "render", name) // from a room of render
	if *Update {
		var small bytes.Buffer
		encoder := png.Encoder{CompressionLevel: png.BestCompression}
		if err := encoder.Encode(&small, Decode(t, b.Bytes())); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, small.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v: run the test with -update, and look at the picture", err)
	}
	same, err := cmpimg.EqualApprox("png", b.Bytes(), want, .02)
	if err != nil {
		t.Fatal(err)
	}
	if !same {
		t.Errorf("the figure differs from %s: run the test with -update, and look at the difference", path)
	}
}

// Update asks for the pictures to be written anew.
var Update = flag.Bool("update", false,
	"write the pictures in testdata instead of comparing with them: look at them before keeping them")
