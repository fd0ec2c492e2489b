package render

import (
	"bytes"
	"flag"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/plot/cmpimg"
	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/render/canvas"
	"calotte/topo/provenance"
)

var update = flag.Bool("update", false, "write the pictures in testdata instead of comparing with them: look at them before keeping them")

// checkGolden compares a figure's PNG with the picture that was looked at and
// kept.
func checkGolden(t *testing.T, name string, f canvas.Figure) {
	t.Helper()
	var b bytes.Buffer
	if err := canvas.Write(&b, f, canvas.PNG, provenance.Record{}); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join("..", "testdata", "render", name)
	if *update {
		var small bytes.Buffer
		encoder := png.Encoder{CompressionLevel: png.BestCompression}
		if err := encoder.Encode(&small, decode(t, b.Bytes())); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, small.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	same, err := cmpimg.EqualApprox("png", b.Bytes(), want, .02)
	if err != nil {
		t.Fatal(err)
	}
	if !same {
		t.Errorf("the figure differs from %s: run the test with -update, and look at the difference", path)
	}
}

// One picture of each kind of decision: wrapped lines, kinds of marks, hatching,
// clipping on both sides, names of sites, a long head.
func TestSheetPictures(t *testing.T) {
	plain := demoSheet(t, sixtyFour, 3, 4)
	plain.Width = 85 * vg.Millimeter
	checkGolden(t, "sheet.png", compose(t, plain))

	marked := demoSheet(t, sixtyFour, 2, 1)
	marked.Width, marked.Limit, marked.Labels = 85*vg.Millimeter, 3, true
	for i := 7; i < 64; i += 12 {
		marked.Rows[0].Marks[i].Kind = Repaired
	}
	marked.Rows[0].leaveOut(t, "AF5", "PO6")
	marked.Rows[1].Values.(*mat.Dense).Set(11, 0, 12)
	checkGolden(t, "sheet-marks.png", compose(t, marked))

	around := demoSheet(t, sixtyFour, 2, 1)
	around.Views, around.Head = []View{Left, Top, Right, Front, Back}, longHead(t)
	around.Palette = Grey
	checkGolden(t, "sheet-around.png", compose(t, around))

	sides := demoSheet(t, sixtyFour, 3, 3)
	sides.Views, sides.Labels, sides.Width = []View{Left, Right}, true, 114*vg.Millimeter
	sides.Scaling = ScaleDifferences
	sides.Rows[2].Difference = true
	for range sides.Columns {
		sides.Rows[2].Chosen = append(sides.Rows[2].Chosen, []int{3, 20, 50})
	}
	sides.Choice = "in a cluster, p = 0.002"
	checkGolden(t, "sheet-sides.png", compose(t, sides))

	pale := demoSheet(t, sixtyFour, 1, 3)
	pale.withSpread(20)
	pale.Fade, pale.Width = 2, 114*vg.Millimeter
	checkGolden(t, "sheet-pale.png", compose(t, pale))

	bands := demoSheet(t, sixtyFour, 3, 2)
	bands.Form, bands.Views, bands.Head, bands.Width = Bands, []View{Top, Right}, longHead(t), 114*vg.Millimeter
	bands.Scaling, bands.Rows[2].Difference, bands.Limit = ScaleDifferences, true, 3
	bands.Rows[1].RightHalf = true
	checkGolden(t, "sheet-bands.png", compose(t, bands))

	for name, shows := range map[string]Showing{"t": TValues, "error": StandardErrors, "agreement": Agreement} {
		s := demoSheet(t, sixtyFour, 1, 2)
		s.withSpread(12)
		s.Shows, s.Width, s.Spacing = shows, 85*vg.Millimeter, EqualArea
		checkGolden(t, "sheet-"+name+".png", compose(t, s))
	}

	long := demoSheet(t, layout.Set1020(), 1, 7)
	long.Width = 85 * vg.Millimeter
	long.Head = longHead(t)
	sites := place(t, long.Head, layout.Set1020())
	long.Rows[0].Spline, long.Rows[0].Marks = splineOf(t, sites), MeasuredAt(sites)
	checkGolden(t, "sheet-wrapped.png", compose(t, long))
}
