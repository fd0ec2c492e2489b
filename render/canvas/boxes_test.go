package canvas

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/plot/vg"
)

func near2(a, b vg.Point, by float64) bool {
	return math.Abs(float64(a.X-b.X)) < by && math.Abs(float64(a.Y-b.Y)) < by
}

func TestBoxes(t *testing.T) {
	boxes, err := Boxes(sketch{100, 100, "", func(c Canvas) {
		c.Group("map-1", "")
		c.Group("labels", "")
		c.Push()
		c.Translate(at(50, 10))
		c.Rotate(math.Pi / 2)
		c.FillString(Sans(10, false), at(0, 0), "H")
		c.Pop()
		c.End()
		c.SetLineWidth(2)
		c.Stroke(circle(50, 50, 10))
		c.End()
		c.Push()
		c.Clip(rectangle(0, 0, 20, 20))
		c.Fill(rectangle(10, 10, 200, 200))
		c.Fill(rectangle(30, 30, 40, 40))
		c.Pop()
		c.DrawImage(vg.Rectangle{Min: at(90, 90), Max: at(110, 95)}, gradient(2, 2))
	}})
	if err != nil {
		t.Fatal(err)
	}
	// The H of Liberation Sans: 722 wide, 688 to 729 high with its stems
	// from 79 to 643 (thousandths; the face's own outline, rounded).
	want := []Box{
		{Text, "map-1/labels", "H", vg.Rectangle{Min: at(43.1, 10.8), Max: at(50, 16.4)}},
		{Stroke, "map-1", "", vg.Rectangle{Min: at(39, 39), Max: at(61, 61)}},
		{Fill, "", "", vg.Rectangle{Min: at(10, 10), Max: at(20, 20)}},
		{Image, "", "", vg.Rectangle{Min: at(90, 90), Max: at(110, 95)}},
	}
	if len(boxes) != len(want) {
		t.Fatalf("%d boxes, want %d: %+v", len(boxes), len(want), boxes)
	}
	for i, w := range want {
		b := boxes[i]
		if b.Kind != w.Kind || b.Group != w.Group || b.Text != w.Text || !near2(b.Rect.Min, w.Rect.Min, 0.1) ||
			!near2(b.Rect.Max, w.Rect.Max, 0.1) {
			t.Errorf("box %d: got %+v, want %+v", i, b, w)
		}
	}
	if !boxes[0].Within(100, 100) || boxes[3].Within(100, 100) {
		t.Error("only the image leaves the page")
	}
	if boxes[0].Overlaps(boxes[1]) ||
		!boxes[1].Overlaps(Box{Rect: vg.Rectangle{Min: at(60, 60), Max: at(70, 70)}}) {
		t.Error("the letter is clear of the circle, the square is not")
	}
}

func ExampleBoxes() {
	figure := sketch{100, 40, "Two labels", func(c Canvas) {
		face := Sans(8, false)
		c.FillString(face, at(10, 10), "left")
		c.FillString(face, vg.Point{X: 90 - TextWidth(face, "right"), Y: 10}, "right")
	}}
	boxes, err := Boxes(figure)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, b := range boxes {
		fmt.Println(b.Text, b.Within(100, 40), b.Overlaps(boxes[0]))
	}
	// Output:
	// left true true
	// right true false
}
