package figtest

import (
	"bytes"
	"image"
	"image/png"
	"testing"

	"calotte/render/canvas"
	"calotte/topo/provenance"
)

// PNG is a figure's picture.
func PNG(t testing.TB, p canvas.Figure) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := canvas.Write(&b, p, canvas.PNG, provenance.Record{}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// Decode reads a picture.
func Decode(t testing.TB, b []byte) image.Image {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	return img
}
