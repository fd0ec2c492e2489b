package digitised_test

import (
	"fmt"
	"os"
	"strings"

	"calotte/layout"
	"calotte/layout/capcheck"
	"calotte/layout/digitised"
	"calotte/layout/head"

	"gonum.org/v1/gonum/spatial/r3"
)

func ExampleDigitise() {
	table := "name\tx\ty\tz\n" +
		"NAS\t9.8\t0\t0\n" +
		"LPA\t0\t7.2\t0\n" +
		"RPA\t0\t-7.2\t0\n" +
		"Fpz\t10.1\t0\t3.2\n" +
		"Cz\t1.5\t0\t12.4\n" +
		"T7\t0.6\t7.9\t3.5\n" +
		"T8\t0.6\t-7.9\t3.5\n"
	points, err := digitised.ReadElectrodes(strings.NewReader(table))
	if err != nil {
		fmt.Println(err)
		return
	}
	model, err := head.Head{Circumference: 560, NasionInion: 365, EarEar: 340}.Model()
	if err != nil {
		fmt.Println(err)
		return
	}
	d, err := digitised.Digitise(points, digitised.Coordinates{}, digitised.Options{Head: model, TipOffset: 6})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range d.Sites {
		fmt.Printf("%-3s %4.0f %4.0f %4.0f\n", s.Name, s.Position.X, s.Position.Y, s.Position.Z)
	}
	for _, w := range d.Warnings {
		fmt.Println(w)
	}
	// Output:
	// Fpz    0   92   -3
	// Cz     0   14   84
	// T7   -73    3    1
	// T8    73    3    1
	// no unit is stated: taken as cm, since LPA and RPA are 144 mm apart then
	// no axes are stated: NAS, LPA and RPA are followed
}

func ExampleParseAxes() {
	axes, err := digitised.ParseAxes("als")
	fmt.Println(axes, err, axes.RAS(r3.Vec{X: 98, Y: -3, Z: 12}))
	_, err = digitised.ParseAxes("RLS")
	fmt.Println(err)
	// Output:
	// ALS <nil> {3 98 12}
	// axes "RLS": expected three letters for x, y and z, one of R and L, one of A and P, one of S and I, such as RAS
}

func ExampleCheckSites() {
	model := head.Sphere(90)
	placed, err := layout.Place(model, layout.Set1020())
	if err != nil {
		fmt.Println(err)
		return
	}
	ideal := layout.Sites(placed)
	// A cap that slid 6 mm back, with the plugs of P4 and O2 exchanged.
	fitted := make([]layout.Site, len(ideal))
	for i, s := range ideal {
		s.Position = r3.Rotate(s.Position, 6./90, r3.Vec{X: 1})
		switch s.Name {
		case "P4":
			s.Name = "O2"
		case "O2":
			s.Name = "P4"
		}
		fitted[i] = s
	}
	check, err := capcheck.CheckSites(ideal, fitted, capcheck.Options{Limit: 5, Head: model})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(check.Headline())
	fmt.Println(check.Turn)
	// Output:
	// 1. exchange P4 and O2: 57 mm off as named, 0 mm if exchanged; 2. slide the cap 6 mm forward; 3. check by tape
	// the cap is turned: pitch +3.8 ± 0.0° (front edge too high), roll 0.0 ± 0.0°, yaw 0.0 ± 0.0°
}

func ExampleCheckTapes() {
	model, err := head.Head{Circumference: 560, NasionInion: 360, EarEar: 350}.Model()
	if err != nil {
		fmt.Println(err)
		return
	}
	tapes, err := capcheck.ParseTapes("Nz-Fpz 4.2cm, Iz-Oz 3.0cm, LPA-T7 3.1cm, RPA-T8 3.9cm")
	if err != nil {
		fmt.Println(err)
		return
	}
	check, err := capcheck.CheckTapes(model, tapes, capcheck.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(check.Headline())
	fmt.Print(check.Numbers())
	// Output:
	// 1. slide the cap 4 of 6 mm forward; 2. check by tape; 3. measure left preauricular point to Fpz next, some 14.3 cm: a turn about the vertical is not seen yet
	// check by tape: nasion to Fpz now 4.2 cm, should be 3.6 cm; inion to Oz now 3.0 cm, should be 3.6 cm
	// the cap is turned: pitch +3.8 ± 0.9° (front edge too high), roll −2.6 ± 0.9° (right edge too high), yaw not known
	// a move is shorter than what was measured where that is not sure: measure again after it
	// ± are standard errors, from readings with errors of 2 mm; a turn whose error is more than 3° is not seen
}

func ExampleCompare() {
	sphere, err := layout.Place(head.Sphere(90), []layout.Name{"Fz", "F3", "Cz", "Pz"})
	if err != nil {
		fmt.Println(err)
		return
	}
	model, err := head.Head{Circumference: 560, NasionInion: 365, EarEar: 340}.Model()
	if err != nil {
		fmt.Println(err)
		return
	}
	own, err := layout.Place(model, []layout.Name{"Fz", "F3", "Cz", "F7"})
	if err != nil {
		fmt.Println(err)
		return
	}
	c, err := digitised.Compare(layout.Sites(sphere), layout.Sites(own))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range c.Sites {
		fmt.Printf("%s %.1f mm along the scalp, %.1f mm straight\n", s.Name, s.Along, s.Straight)
	}
	fmt.Printf("median %.1f mm, only in one: %v %v\n", c.Median, c.OnlyA, c.OnlyB)
	// Output:
	// F3 2.9 mm along the scalp, 2.9 mm straight
	// Fz 1.2 mm along the scalp, 3.1 mm straight
	// Cz 0.0 mm along the scalp, 0.5 mm straight
	// median 1.2 mm, only in one: [Pz] [F7]
}

func ExampleGeometricPairs() {
	sites := []layout.Site{
		{Name: "E1", Position: r3.Vec{X: -60, Y: 50, Z: 20}},
		{Name: "E2", Position: r3.Vec{X: 63, Y: 48, Z: 22}},
		{Name: "E3", Position: r3.Vec{X: 2, Y: -60, Z: 60}},
	}
	found, err := digitised.GeometricPairs(sites, 15)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s mirrors %s; on the midline %v\n", found.Pairs[0].Left, found.Pairs[0].Right, found.Midline)
	if err := digitised.WriteElectrodes(os.Stdout, sites[:1]); err != nil {
		fmt.Println(err)
	}
	// Output:
	// E1 mirrors E2; on the midline [E3]
	// name	x	y	z
	// E1	-60.0000	50.0000	20.0000
}

func ExampleWriteElectrodes() {
	placements, err := layout.Place(head.Sphere(90), []layout.Name{"Fz", "Cz"})
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := digitised.WriteElectrodes(os.Stdout, layout.Sites(placements)); err != nil {
		fmt.Println(err)
	}
	// Output:
	// name	x	y	z
	// Fz	0.0000	63.6396	63.6396
	// Cz	0.0000	0.0000	90.0000
}
