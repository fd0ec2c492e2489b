package render_test

import (
	"fmt"
	"log"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/render"
	"calotte/topo"
)

// Two latencies of one condition at the sites of the 10-20 system.
func ExampleSheet_Compose() {
	placements, err := layout.Place(layout.Sphere(89.1), layout.Set1020())
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
	sheet := render.Sheet{
		Columns:   []string{"170 ms", "300 ms"},
		Width:     85 * vg.Millimeter,
		Reference: "average of 19 sites",
		Rows: []render.Row{{
			Title: "known", Note: "12 people, 98–100 epochs",
			Spline: spline, Values: amplitudes, Marks: render.MeasuredAt(sites),
		}},
	}
	plate, err := sheet.Compose()
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("±%g µV, contours every %g µV, clipped: %g\n", plate.Scales[0].Limit, plate.Scales[0].Step, plate.Scales[0].Clipped)
	// Output: ±5 µV, contours every 1 µV, clipped: 0
}

func ExampleProjection() {
	view := render.TopView(layout.Sphere(89.1))
	rightEar := r3.Vec{X: 82.3, Z: -34.1}
	fmt.Printf("%.2f\n", view.Project(rightEar))
	fmt.Printf("%.2f\n", view.Direction(r2.Vec{Y: .4}))
	// Output:
	// {1.00 0.00}
	// {0.00 0.71 0.71}
}

func ExampleNiceLimit() {
	fmt.Println(render.NiceLimit(7.1), render.NiceLimit(11.7), render.NiceLimit(0.0031))
	// Output: 8 15 0.004
}

// The ticks of a time axis, as any axis of gonum's plot takes them.
func ExampleRoundTicks() {
	p := plot.New()
	p.X.Tick.Marker = render.RoundTicks{Most: 8}
	for _, tick := range p.X.Tick.Marker.Ticks(-100, 600) {
		fmt.Print(tick.Label, " ")
	}
	// Output: −100 0 100 200 300 400 500 600
}

// A cap that slid back, as four tapes tell it.
func ExampleCap_Compose() {
	tapes, err := layout.ParseTapes("Nz-Fpz 4.3cm, Iz-Oz 2.7cm, LPA-T7 3.5cm, RPA-T8 3.5cm")
	if err != nil {
		log.Fatal(err)
	}
	head := layout.Sphere(89.1)
	check, err := layout.CheckTapes(head, tapes, layout.CapOptions{Limit: 5})
	if err != nil {
		log.Fatal(err)
	}
	plate, err := (&render.Cap{Check: check, Head: head, Width: 85 * vg.Millimeter}).Compose()
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%g times the scale of %.1f mm to 1 mm\n", plate.Enlarged, plate.Millimetres)
	fmt.Println(check.Advice[0])
	// Output:
	// 3 times the scale of 5.1 mm to 1 mm
	// slide the cap 8 mm forward
}
