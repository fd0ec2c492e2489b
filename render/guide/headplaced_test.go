package guide

import (
	"slices"
	"testing"

	"calotte/layout"
	"calotte/render/canvas"
)

// Ground and reference at a known site are on the drawing, at any other place
// in the list alone.
func TestGroundAndReferenceOnTheDrawing(t *testing.T) {
	for _, c := range []struct {
		ground, reference string
		sites             []layout.Name
		g, r              bool
	}{
		{"AFz", "Cz", nil, true, true},
		{"fpz", "T3", nil, true, true}, // spellings in practice
		{"AFz", "CPz", layout.Set1010(), true, true},
		{"right mastoid", "A1", nil, false, false},
		{"", "", nil, false, false},
	} {
		for _, stand := range []Stand{Behind, Front} {
			o := Options{Ground: c.ground, Reference: c.reference, Sites: c.sites, Stand: stand}
			for _, f := range pages(t, someHead, o) {
				if f.Title() != "The head as you stand" {
					continue
				}
				text := said(t, []canvas.Figure{f})
				if g, r := slices.Contains(text, "G"), slices.Contains(text, "R"); g != c.g ||
					r != c.r {
					t.Errorf("ground %q, reference %q: on the drawing %v, %v; want %v, %v",
						c.ground,
						c.reference,
						g,
						r,
						c.g, c.r)
				}
			}
		}
	}
}
