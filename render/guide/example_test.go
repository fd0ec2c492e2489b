package guide_test

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"calotte/layout/head"
	"calotte/render/canvas"
	"calotte/render/guide"
	"calotte/topo/provenance"
)

// draw stands for writing a page to a file of that name.
var draw = func(f canvas.Figure, name string) error {
	return canvas.Write(io.Discard, f, canvas.PNG, provenance.Record{Program: "example"})
}

func ExamplePages() {
	measures := head.Head{Wearer: "P014", Circumference: 560, NasionInion: 365, EarEar: 340}
	surface, err := measures.Surface()
	if err != nil {
		fmt.Println(err)
		return
	}
	pages, err := guide.Pages(surface, measures.Visit(), guide.Options{Paper: guide.Letter, Posture: guide.Lying})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range pages {
		fmt.Println(p.Title())
	}
	var file bytes.Buffer
	made := provenance.Record{Program: "calotte", Work: "guide"}
	if err := canvas.WriteDocument(&file, pages, canvas.PDF, made); err != nil {
		fmt.Println(err)
	}
	// Output:
	// Distances on this head
	// Cautions and records
	// Distances on this head, continued
	// Cap: six checks
	// Checks
	// The head as you stand
	// Electrodes in order of work
	// Straight strips
	// Curved strips
}

func ExampleBlank() {
	pages, err := guide.Blank(guide.Options{Paper: guide.Letter})
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, p := range pages {
		fmt.Println(p.Title())
		if err := draw(p, fmt.Sprintf("guide-blank-%02d.png", i+1)); err != nil {
			fmt.Println(err)
		}
	}
	// Output:
	// Landmarks and measures
	// Cautions and records
	// Fan for any tape
	// Ladder for any head
}

// A translation that lacks a key is refused.
func ExampleReadText() {
	_, err := guide.ReadText(strings.NewReader("language: fr\ncommon:\n  wearer: Porteur\n"))
	fmt.Println(err)
	// Output: guide text: common.date is missing or empty: translate it
}
