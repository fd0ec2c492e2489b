package head_test

import (
	"fmt"
	"os"

	"calotte/layout/head"
)

func ExampleHead_Check() {
	_, err := head.Head{Circumference: 56}.Check()
	fmt.Println(err)
	warnings, _ := head.Head{Circumference: 560, NasionInion: 340, EarEar: 365}.Check()
	fmt.Println(warnings[0])
	// Output:
	// circumference 56 mm is not a head's: is it 56 cm?
	// the head is wider than long (breadth/length 1.15): measure again to be sure
}

func ExampleHead_Encode() {
	measures := head.Head{Wearer: "P07", Circumference: 560, NasionInion: 365, EarEar: 340}
	if err := measures.Encode(os.Stdout); err != nil {
		fmt.Println(err)
	}
	// Output:
	// {
	//   "kind": "calotte head",
	//   "version": 1,
	//   "wearer": "P07",
	//   "circumference_mm": 560,
	//   "nasion_inion_mm": 365,
	//   "ear_ear_mm": 340
	// }
}

func ExampleHead_Model() {
	model, err := head.Head{Circumference: 560, NasionInion: 365, EarEar: 340}.Model()
	fmt.Printf("%.1f %.1f %.1f mm, %v\n", model.Right, model.Front, model.Up, err)
	// Output: 82.6 95.4 90.5 mm, <nil>
}

func ExampleEllipsoid_Section() {
	model := head.Sphere(90)
	l := model.Landmarks()
	arc, err := model.Section(l.Nasion, l.Vertex, l.Inion)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f mm, a tenth of it at %.1f\n", arc.Length(), arc.At(0.1))
	// Output: 353.4 mm, a tenth of it at {0.0 90.0 0.0}
}
