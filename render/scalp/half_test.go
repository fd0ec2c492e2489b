package scalp

import (
	"testing"

	"gonum.org/v1/plot/vg"

	"calotte/render/internal/figtest"
	"calotte/render/paper"
)

// Of the half-head nothing is drawn at the left: no colours, no contours, no
// marks.
func TestRightHalf(t *testing.T) {
	s := demoSheet(t, figtest.SixtyFour, 1, 1)
	s.Rows[0].RightHalf = true
	p := compose(t, s)
	q := p.picture(p.panels[0], testTable, paper.Pixel)
	middle := q.image.Rect.Dx() / 2
	for y := range q.image.Rect.Dy() {
		for x := range q.image.Rect.Dx() {
			if a := q.image.RGBAAt(x, y).A; x < middle && a != 0 ||
				x == middle+40 && y == q.image.Rect.Dy()/2 && a != 255 {
				t.Fatalf("pixel (%d, %d) has the opacity %d", x, y, a)
			}
		}
	}
	for _, path := range q.contours {
		for _, c := range path {
			if c.Type != vg.CloseComp && c.Pos.X < -.001 {
				t.Fatalf("a contour at %v", c.Pos)
			}
		}
	}
	for _, m := range p.furniture[0].marks {
		if m.Site.Position.X < -1e-6 {
			t.Errorf("%s is marked", m.Site.Name)
		}
	}
}
