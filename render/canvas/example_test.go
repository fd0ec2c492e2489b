package canvas_test

import (
	"bytes"
	"fmt"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/topo/provenance"
)

// scaleBar is a figure of one line and its length.
type scaleBar struct{ length vg.Length }

func (s scaleBar) Size() (width, height vg.Length) { return s.length + 20, 30 }
func (s scaleBar) Title() string                   { return "Scale bar" }
func (s scaleBar) Description() string             { return "A bar at true size." }

func (s scaleBar) Draw(c canvas.Canvas) {
	face := canvas.Sans(9, false)
	text := fmt.Sprintf("%.0f mm", float64(s.length/vg.Millimeter))
	c.Group("bar", "The bar")
	c.Stroke(vg.Path{
		{Type: vg.MoveComp, Pos: vg.Point{X: 10, Y: 20}},
		{Type: vg.LineComp, Pos: vg.Point{X: 10 + s.length, Y: 20}},
	})
	c.FillString(face, vg.Point{X: 10 + (s.length-canvas.TextWidth(face, text))/2, Y: 8}, text)
	c.End()
}

func ExampleWrite() {
	format, err := canvas.ParseFormat(".svg")
	if err != nil {
		fmt.Println(err)
		return
	}
	var file bytes.Buffer
	made := provenance.Record{Program: "calotte", Version: "0.1.0", Work: "guide"}
	if err := canvas.Write(&file, scaleBar{100 * vg.Millimeter}, format, made); err != nil {
		fmt.Println(err)
		return
	}
	back, err := canvas.ReadProvenance(bytes.NewReader(file.Bytes()), int64(file.Len()))
	fmt.Println(format, back.Work, err)
	// Output:
	// svg guide <nil>
}

func ExampleParseFormat() {
	_, err := canvas.ParseFormat(".jpg")
	fmt.Println(err)
	// Output:
	// unknown figure format ".jpg": end the name in .png, .svg, .pdf, .tiff
}
