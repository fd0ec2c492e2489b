package cap_test

import (
	"fmt"
	"io"
	"log"

	"gonum.org/v1/plot/vg"

	"calotte/layout/capcheck"
	"calotte/layout/head"
	"calotte/render/canvas"
	"calotte/render/cap"
	"calotte/topo/provenance"
)

// draw stands for writing a figure to a file of that name.
var draw = func(f canvas.Figure, name string) error {
	return canvas.Write(io.Discard, f, canvas.PNG, provenance.Record{Program: "example"})
}

// A cap that slid back and turned, as six tapes tell it.
func ExampleCap_Compose() {
	tapes, err := capcheck.ParseTapes("Nz-Fpz 4.3cm, Iz-Oz 2.6cm, LPA-T7 3.9cm, RPA-T8 3.2cm, " +
		"LPA-Fpz 13.4cm, RPA-Fpz 14.9cm")
	if err != nil {
		log.Fatal(err)
	}
	model := head.Sphere(89.127) // 560 mm around
	check, err := capcheck.CheckTapes(model, tapes, capcheck.Options{Limit: 5, Head: model})
	if err != nil {
		log.Fatal(err)
	}
	plate, err := (&cap.Cap{Check: check, Head: model, Width: 114 * vg.Millimeter, Synthetic: true}).Compose()
	if err != nil {
		log.Fatal(err)
	}
	if err := draw(plate, "cap-tapes.png"); err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%g times the scale of %.1f mm to 1 mm\n", plate.Enlarged, plate.Millimetres)
	fmt.Println(check.Advice[0])
	fmt.Println(check.Advice[1])
	// Output:
	// 2 times the scale of 4.2 mm to 1 mm
	// slide the cap 8 mm forward
	// turn: front edge 8 mm to the wearer's right
}
