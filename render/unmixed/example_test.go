package unmixed_test

import (
	"fmt"
	"io"
	"log"
	"math"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/canvas"
	"calotte/render/unmixed"
	"calotte/topo/provenance"
)

// draw stands for writing a figure to a file of that name.
var draw = func(f canvas.Figure, name string) error {
	return canvas.Write(io.Discard, f, canvas.PNG, provenance.Record{Program: "example"})
}

// invented is a sheet of two components, a blink and a rhythm.
func invented() *unmixed.Sheet {
	model := head.Sphere(89)
	placed, err := layout.Place(model, layout.Set1020())
	if err != nil {
		log.Fatal(err)
	}
	s := &unmixed.Sheet{Name: "sub-01", Sites: layout.Sites(placed), Head: model, Conditions: []string{"known (40)",
		"novel (38)"}, Synthetic: true, Caption: "Courses are in µV at the site named."}
	for k := range 126 {
		s.Times = append(s.Times, -.1+.004*float64(k))
	}
	for n, title := range []string{"1 eye: blink", "2 none of these"} {
		row := unmixed.Row{Title: title, Remove: n == 0, Site: "Fp1",
			Lines: []string{"61.0 % of the power; µV at Fp1", "eyes: blink 0.97, sideways 0.03"}}
		for _, site := range s.Sites {
			row.Map = append(row.Map, math.Exp(float64(1-2*n)*site.Position.Y/40))
		}
		for c := range s.Conditions {
			var course []float64
			for _, t := range s.Times {
				course = append(course, float64(4+c)*math.Cos(30*t)*math.Exp(-math.Abs(t-.2)/.2))
			}
			row.Courses = append(row.Courses, course)
		}
		for f := range 126 {
			row.Spectrum = append(row.Spectrum,
				10/(1+float64(f))+2*math.Exp(-math.Pow(float64(f)-10, 2))*float64(n))
		}
		for p := range 3 {
			var piece []float64
			for k := range 250 {
				piece = append(piece, 150*math.Exp(-math.Pow((float64(k)-125)/float64(20+5*p), 2)))
			}
			row.Pieces = append(row.Pieces, piece)
		}
		s.Rows = append(s.Rows, row)
	}
	return s
}

// A sheet of components for the person who decides about them.
func ExampleSheet_Pages() {
	pages, err := invented().Pages()
	if err != nil {
		log.Fatal(err)
	}
	if err := draw(pages[0], "components.png"); err != nil {
		log.Fatal(err)
	}
	fmt.Println(len(pages), pages[0].Title())
	// Output: 1 sub-01: independent components
}

// The data before and after a blink was taken out.
func ExampleChange_Compose() {
	c := unmixed.Change{Name: "sub-01", Sites: []string{"Fp1", "Fz"}, Synthetic: true,
		Caption: "µV over s; grey: before, black: after taking out 1 of 20 components."}
	for k := range 1000 {
		c.Times = append(c.Times, float64(k)/250)
	}
	for i := range c.Sites {
		var before, after []float64
		for _, t := range c.Times {
			after = append(after, 10*math.Sin(60*t+float64(i)))
			before = append(before, after[len(after)-1]+200/float64(1+3*i)*math.Exp(-math.Pow((t-2)/.1, 2)))
		}
		c.Before, c.After = append(c.Before, before), append(c.After, after)
	}
	page, err := c.Compose()
	if err != nil {
		log.Fatal(err)
	}
	if err := draw(page, "before-after.png"); err != nil {
		log.Fatal(err)
	}
	fmt.Println(page.Title())
	// Output: sub-01: before and after
}
