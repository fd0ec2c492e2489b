package scalp

import (
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/render/internal/figtest"
)

// One picture of each kind of decision: wrapped lines, kinds of marks,
// hatching, clipping on both sides, names of sites, a long head.
func TestSheetPictures(t *testing.T) {
	plain := demoSheet(t, figtest.SixtyFour, 3, 4)
	plain.Width = 85 * vg.Millimeter
	figtest.CheckGolden(t, "sheet.png", compose(t, plain))

	marked := demoSheet(t, figtest.SixtyFour, 2, 1)
	marked.Width, marked.Limit, marked.Labels = 85*vg.Millimeter, 3, true
	for i := 7; i < 64; i += 12 {
		marked.Rows[0].Marks[i].Kind = Repaired
	}
	marked.Rows[0].leaveOut(t, "AF5", "PO6")
	marked.Rows[1].Values.(*mat.Dense).Set(11, 0, 12)
	figtest.CheckGolden(t, "sheet-marks.png", compose(t, marked))

	around := demoSheet(t, figtest.SixtyFour, 2, 1)
	around.Views, around.Head = []View{Left, Top, Right, Front, Back}, figtest.LongHead(t)
	around.Palette = Grey
	figtest.CheckGolden(t, "sheet-around.png", compose(t, around))

	sides := demoSheet(t, figtest.SixtyFour, 3, 3)
	sides.Views, sides.Labels, sides.Width = []View{Left, Right}, true, 114*vg.Millimeter
	sides.Scaling = ScaleDifferences
	sides.Rows[2].Difference = true
	for range sides.Columns {
		sides.Rows[2].Chosen = append(sides.Rows[2].Chosen, []int{3, 20, 50})
	}
	sides.Choice = "in a cluster, p = 0.002"
	figtest.CheckGolden(t, "sheet-sides.png", compose(t, sides))

	stippled := demoSheet(t, figtest.SixtyFour, 1, 3)
	stippled.withSpread(20)
	stippled.Boundary, stippled.Width = Boundary{2, StandardErrors}, 114*vg.Millimeter
	figtest.CheckGolden(t, "sheet-stippled.png", compose(t, stippled))

	bands := demoSheet(t, figtest.SixtyFour, 3, 2)
	bands.Form, bands.Views, bands.Head, bands.Width = Bands, []View{Top, Right}, figtest.LongHead(t),
		114*vg.Millimeter
	bands.Scaling, bands.Rows[2].Difference, bands.Limit = ScaleDifferences, true, 3
	bands.Rows[1].RightHalf = true
	figtest.CheckGolden(t, "sheet-bands.png", compose(t, bands))

	for name, shows := range map[string]Showing{"t": TValues, "error": StandardErrors, "agreement": Agreement,
		"interpolation": InterpolationErrors, "all-errors": AllErrors} {
		s := demoSheet(t, figtest.SixtyFour, 1, 2)
		s.withSpread(12)
		s.Shows, s.Width, s.Spacing = shows, 85*vg.Millimeter, EqualArea
		figtest.CheckGolden(t, "sheet-"+name+".png", compose(t, s))
	}

	long := demoSheet(t, layout.Set1020(), 1, 7)
	long.Width = 85 * vg.Millimeter
	long.Head = figtest.LongHead(t)
	sites := figtest.Place(t, long.Head, layout.Set1020())
	long.Rows[0].Spline, long.Rows[0].Marks = figtest.SplineOf(t, sites), MeasuredAt(sites)
	figtest.CheckGolden(t, "sheet-wrapped.png", compose(t, long))
}
