package guide_test

import (
	"bytes"
	"fmt"
	"log"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/canvas"
	"calotte/render/guide"
	"calotte/topo/provenance"
)

// A whole program: from the measures of a head to its sites and its guide.
func Example() {
	measures := head.Head{Wearer: "P014", Circumference: 560, NasionInion: 365, EarEar: 340}
	surface, err := measures.Surface()
	if err != nil {
		log.Fatal(err)
	}
	placements, err := layout.Place(surface, []layout.Name{"C3", "P8", "Oz"})
	if err != nil {
		log.Fatal(err)
	}
	for _, p := range placements {
		fmt.Printf("%s %.1f mm\n", p.Name, p.Position)
	}
	pages, err := guide.Pages(surface, measures.Visit(), guide.Options{})
	if err != nil {
		log.Fatal(err)
	}
	var file bytes.Buffer
	if err := canvas.WriteDocument(&file, pages, canvas.PDF, provenance.Record{Program: "example"}); err != nil {
		log.Fatal(err)
	}
	fmt.Println(len(pages), "pages,", bytes.HasPrefix(file.Bytes(), []byte("%PDF-")))
	// Output:
	// C3 {-59.7 0.0 62.5} mm
	// P8 {68.4 -53.5 0.0} mm
	// Oz {0.0 -95.4 0.0} mm
	// 8 pages, true
}
