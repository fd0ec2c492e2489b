package page_test

import (
	"bytes"
	"fmt"
	"log"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/page"
	"calotte/render/scalp"
	"calotte/topo"
	"calotte/topo/provenance"
)

// A page of one average, which says what it was made from.
func ExampleWrite() {
	model := head.Sphere(89.1)
	placements, err := layout.Place(model, layout.Set1020())
	if err != nil {
		log.Fatal(err)
	}
	sites := layout.Sites(placements)
	spline, err := topo.New(sites, topo.Options{Radius: 89.1})
	if err != nil {
		log.Fatal(err)
	}
	study := page.Study{Title: "Signal flags", Sites: sites, Spline: spline, Head: model, Synthetic: true,
		Made: provenance.Record{Program: "example", Work: "explore"}}
	for k := range 151 {
		study.Times = append(study.Times, -.1+.004*float64(k))
	}
	known := page.Condition{Title: "known", Note: "12 people", Marks: make([]scalp.MarkKind, len(sites))}
	for _, s := range sites {
		var row []float64 // µV
		for _, time := range study.Times {
			row = append(row, 5*r3.Unit(s.Position).Y*math.Exp(-math.Pow((time-.17)/.03, 2)))
		}
		known.Values = append(known.Values, row)
	}
	study.Conditions = []page.Condition{known}

	var file bytes.Buffer
	if err := page.Write(&file, &study); err != nil {
		log.Fatal(err)
	}
	made, err := page.ReadProvenance(file.Bytes())
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(made.Program, made.Work)
	// Output: example explore
}
