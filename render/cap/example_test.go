package cap_test

import (
	"fmt"
	"log"

	"gonum.org/v1/plot/vg"

	"calotte/layout/capcheck"
	"calotte/layout/head"
	"calotte/render/cap"
)

// A cap that slid back, as four tapes tell it.
func ExampleCap_Compose() {
	tapes, err := capcheck.ParseTapes("Nz-Fpz 4.3cm, Iz-Oz 2.7cm, LPA-T7 3.5cm, RPA-T8 3.5cm")
	if err != nil {
		log.Fatal(err)
	}
	model := head.Sphere(89.1)
	check, err := capcheck.CheckTapes(model, tapes, capcheck.Options{Limit: 5})
	if err != nil {
		log.Fatal(err)
	}
	plate, err := (&cap.Cap{Check: check, Head: model, Width: 85 * vg.Millimeter}).Compose()
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%g times the scale of %.1f mm to 1 mm\n", plate.Enlarged, plate.Millimetres)
	fmt.Println(check.Advice[0])
	// Output:
	// 3 times the scale of 5.1 mm to 1 mm
	// slide the cap 8 mm forward
}
