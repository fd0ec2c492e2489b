package scan_test

import (
	"fmt"
	"os"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/layout/scan"
)

func ExampleReadMesh() {
	const square = "v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nf 1 2 3 4\n"
	mesh, err := scan.ReadMesh(strings.NewReader(square), scan.OBJ)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(mesh.Size())
	_, err = scan.ReadMesh(strings.NewReader("v 0 0 0\nv 1 0 0\nf 1 2 3\n"), scan.OBJ)
	fmt.Println(err)
	// Output:
	// 4 2
	// obj line 3: corner at vertex 3: there are 2 before this line
}

func ExampleNew() {
	file, err := os.Open("../../testdata/layout/scan.ply")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer file.Close()
	mesh, err := scan.ReadMesh(file, scan.PLY)
	if err != nil {
		fmt.Println(err)
		return
	}
	landmarks, err := scan.ReadLandmarks(strings.NewReader(`name x y z
NAS   1.14  99.33 -34.66
INI   2.20 -88.18 -33.03
LPA -78.77   8.00 -35.94
RPA  78.89   7.61 -35.46
`))
	if err != nil {
		fmt.Println(err)
		return
	}
	scanned, err := scan.New(mesh, landmarks, "")
	if err != nil {
		fmt.Println(err)
		return
	}
	head := scanned.Measures()
	fmt.Printf("in %s; %.0f mm around, %.0f and %.0f mm over the vertex\n", scanned.Unit(), head.Circumference,
		head.NasionInion, head.EarEar)
	placements, err := layout.Place(scanned, []layout.Name{"Fz", "C3"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range placements {
		fmt.Printf("%s at %.0f, %.1f mm from %s\n", p.Name, p.Position, p.Distance, p.From)
	}
	// Output:
	// in mm; 559 mm around, 362 and 351 mm over the vertex
	// Fz at {0 62 66}, 108.6 mm from Nz
	// C3 at {-61 -2 62}, 105.2 mm from LPA
}

func ExampleUnroll() {
	model := head.Sphere(90)
	for _, r := range layout.Rules() {
		if r.Arc() != "F7-Fz-F8" {
			continue
		}
		arc, err := r.Section(model)
		if err != nil {
			fmt.Println(err)
			return
		}
		strip, err := layout.Unroll(arc, arc.Length()/4)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("radius %.1f mm\n", 1/arc.Curvature(0))
		for _, p := range strip {
			fmt.Printf("%5.1f mm: %5.1f ahead, %5.1f to the left\n", p.Distance, p.X, p.Y)
		}
	}
	// Output:
	// radius 126.5 mm
	//   0.0 mm:   0.0 ahead,   0.0 to the left
	//  53.2 mm:  51.6 ahead,  11.0 to the left
	// 106.4 mm:  94.3 ahead,  42.1 to the left
	// 159.6 mm: 120.5 ahead,  88.0 to the left
	// 212.8 mm: 125.8 ahead, 140.5 to the left
}

func ExampleEllipsoid_Distance() {
	model := head.Sphere(90)
	d, err := model.Distance(r3.Vec{X: 90}, r3.Vec{Z: 90})
	fmt.Printf("%.2f mm, %v\n", d, err)
	// Output: 141.37 mm, <nil>
}

func ExampleHead_Surface() {
	measures := head.Head{NasionInion: 365,
		Halves: head.Halves{LeftRing: 284, RightRing: 276, LeftEar: 172, RightEar: 168}}
	surface, err := measures.Surface()
	if err != nil {
		fmt.Println(err)
		return
	}
	placements, err := layout.Place(surface, []layout.Name{"F7", "F8", "C3"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range placements {
		fmt.Printf("%s is %.1f mm from %s\n", p.Name, p.Distance, p.From)
	}
	// Output:
	// F7 is 85.2 mm from Fpz
	// F8 is 82.8 mm from Fpz
	// C3 is 103.2 mm from LPA
}
