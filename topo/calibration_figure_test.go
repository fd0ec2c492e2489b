package topo_test

import (
	"bytes"
	"flag"
	"fmt"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/cmpimg"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"calotte/topo"
)

var update = flag.Bool("update", false,
	"write the picture in testdata instead of comparing with it: look at it before keeping it")

// The picture shows which share of unseen electrodes of the open recordings the
// intervals of each nominal coverage hold.
func TestCalibrationFigure(t *testing.T) {
	p := plot.New()
	p.Title.Text = "Unseen electrodes of the open recordings"
	p.Title.Padding = vg.Points(8)
	p.X.Label.Text, p.Y.Label.Text = "Nominal coverage of the interval, %", "Covered, %"
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = 50, 100, 50, 100
	p.Legend.XOffs, p.Legend.YOffs, p.Legend.Padding = -vg.Points(8), vg.Points(8), vg.Points(2)
	tens := plot.ConstantTicks{{Value: 50, Label: "50"}, {Value: 60, Label: "60"}, {Value: 70, Label: "70"},
		{Value: 80, Label: "80"}, {Value: 90, Label: "90"}, {Value: 95, Label: "95"},
		{Value: 100, Label: "100"}}
	p.X.Tick.Marker, p.Y.Tick.Marker = tens, tens
	p.Add(plotter.NewGrid())
	diagonal, err := plotter.NewLine(plotter.XYs{{X: 50, Y: 50}, {X: 100, Y: 100}})
	if err != nil {
		t.Fatal(err)
	}
	diagonal.Dashes = []vg.Length{vg.Points(3), vg.Points(2)}
	p.Add(diagonal)
	p.Legend.Add("as nominal", diagonal)
	for _, style := range []struct {
		known int
		color color.Color
		glyph draw.GlyphDrawer
	}{
		{63, color.NRGBA{0, 0x72, 0xb2, 0xff}, draw.CircleGlyph{}},
		{32, color.NRGBA{0xd5, 0x5e, 0, 0xff}, draw.SquareGlyph{}},
		{19, color.NRGBA{0, 0x9e, 0x73, 0xff}, draw.PyramidGlyph{}},
	} {
		line, points, err := plotter.NewLinePoints(calibration(t, style.known))
		if err != nil {
			t.Fatal(err)
		}
		line.Color, points.Color, points.Shape = style.color, style.color, style.glyph
		p.Add(line, points)
		p.Legend.Add(fmt.Sprintf("%d sites known", style.known), line, points)
	}
	checkPicture(t, p)
}

// calibration is the share covered against the nominal one, in per cent.
func calibration(t *testing.T, known int) plotter.XYs {
	z, freedom := openMisses(t, known, topo.Options{})
	var line plotter.XYs
	for _, level := range []float64{50, 60, 70, 80, 85, 90, 95, 97, 99} {
		share := 100 * covered(z, freedom, level/100).share()
		t.Logf("%d known, nominal %g %%: %.1f %%", known, level, share)
		line = append(line, plotter.XY{X: level, Y: share})
	}
	return line
}

func checkPicture(t *testing.T, p *plot.Plot) {
	t.Helper()
	canvas := vgimg.NewWith(vgimg.UseWH(12*vg.Centimeter, 11*vg.Centimeter), vgimg.UseDPI(120))
	p.Draw(draw.New(canvas))
	var drawn bytes.Buffer
	encoder := png.Encoder{CompressionLevel: png.BestCompression}
	if err := encoder.Encode(&drawn, canvas.Image()); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join("..", "testdata", "topo", "calibration.png")
	if *update {
		if err := os.WriteFile(path, drawn.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v: run the test with -update, and look at the picture", err)
	}
	same, err := cmpimg.EqualApprox("png", drawn.Bytes(), want, .02)
	if err != nil {
		t.Fatal(err)
	}
	if !same {
		t.Errorf("the figure differs from %s: run the test with -update, and look at the difference", path)
	}
}
