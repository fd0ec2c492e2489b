package guide

import (
	"bytes"
	"flag"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"gonum.org/v1/plot/cmpimg"

	"calotte/layout"
	"calotte/render/canvas"
)

var update = flag.Bool("update", false,
	"write the pictures in testdata instead of comparing with them: look at them before keeping them")

// Pages that were looked at and kept, at 75 dots per inch: every sheet of a
// head once, and the dense ones with many sites.
func TestGuidePictures(t *testing.T) {
	for name, figures := range map[string][]canvas.Figure{
		"guide-head": pages(t, someHead, Options{}),
		"guide-many": pages(t, heads[5],
			Options{Sites: layout.Set1010(), Posture: Headrest, Stand: Front, Bar: 98.4}),
	} {
		for i, f := range figures {
			if name == "guide-many" && i != 2 && i != 6 && i != 7 && i != 11 {
				continue // as the other guides'
			}
			checkGolden(t, fmt.Sprintf("%s-%02d.png", name, i+1), f)
		}
	}
}

func checkGolden(t *testing.T, name string, f canvas.Figure) {
	t.Helper()
	colored, err := canvas.Raster(f, 75)
	if err != nil {
		t.Fatal(err)
	}
	img := image.NewGray(colored.Bounds())
	draw.Draw(img, img.Rect, colored, image.Point{}, draw.Src)
	var drawn bytes.Buffer
	encoder := png.Encoder{CompressionLevel: png.BestCompression}
	if err := encoder.Encode(&drawn, img); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join("..", "..", "testdata", "figures", name)
	if *update {
		if err := os.WriteFile(path, drawn.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	same, err := cmpimg.EqualApprox("png", drawn.Bytes(), want, .02)
	if err != nil {
		t.Fatal(err)
	}
	if !same {
		t.Errorf("the page differs from %s: run the test with -update, and look at the difference", path)
	}
}
