package scalp_test

import (
	"fmt"
	"io"
	"log"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/canvas"
	"calotte/render/scalp"
	"calotte/topo"
	"calotte/topo/provenance"
)

// draw stands for writing a figure to a file of that name.
var draw = func(f canvas.Figure, name string) error {
	return canvas.Write(io.Discard, f, canvas.PNG, provenance.Record{Program: "example"})
}

// Two latencies of one condition at the sites of the 10-20 system.
func ExampleSheet_Compose() {
	placements, err := layout.Place(head.Sphere(89.1), layout.Set1020())
	if err != nil {
		log.Fatal(err)
	}
	sites := layout.Sites(placements)
	spline, err := topo.New(sites, topo.Options{Radius: 89.1})
	if err != nil {
		log.Fatal(err)
	}
	amplitudes := mat.NewDense(len(sites), 2, nil) // µV
	for i, s := range sites {
		p := r3.Unit(s.Position)
		amplitudes.SetRow(i, []float64{4 * p.Y, 6*p.Z - 2})
	}
	sheet := scalp.Sheet{
		Columns:   []string{"170 ms", "300 ms"},
		Width:     85 * vg.Millimeter,
		Reference: "average of 19 sites",
		Rows: []scalp.Row{{
			Title: "known", Note: "12 people, 98–100 epochs",
			Spline: spline, Values: amplitudes, Marks: scalp.MeasuredAt(sites),
		}},
	}
	plate, err := sheet.Compose()
	if err != nil {
		log.Fatal(err)
	}
	if err := draw(plate, "sheet-example.png"); err != nil {
		log.Fatal(err)
	}
	fmt.Printf("±%g µV, contours every %g µV, clipped: %g\n", plate.Scales[0].Limit, plate.Scales[0].Step,
		plate.Scales[0].Clipped)
	// Output: ±4 µV, contours every 1 µV, clipped: 0
}

func ExampleProjection() {
	view := scalp.TopView(head.Sphere(89.1))
	rightEar := r3.Vec{X: 82.3, Z: -34.1}
	fmt.Printf("%.2f\n", view.Project(rightEar))
	fmt.Printf("%.2f\n", view.Direction(r2.Vec{Y: .4}))
	// Output:
	// {1.00 0.00}
	// {0.00 0.71 0.71}
}

func ExampleNiceLimit() {
	fmt.Println(scalp.NiceLimit(7.1), scalp.NiceLimit(11.7), scalp.NiceLimit(0.0031))
	// Output: 8 15 0.004
}
