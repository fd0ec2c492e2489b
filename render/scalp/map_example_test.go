package scalp_test

import (
	"fmt"
	"image/color"
	"io"
	"log"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/chart"
	"calotte/render/scalp"
)

// save stands for p.Save, which writes a file: png, svg or pdf by its name.
var save = func(p *plot.Plot, width, height vg.Length, name string) error {
	w, err := p.WriterTo(width, height, name[len(name)-3:])
	if err == nil {
		_, err = w.WriteTo(io.Discard)
	}
	return err
}

// A map that fills its plot, with the bar of its colours beside it.
func ExampleMap() {
	placements, err := layout.Place(head.Sphere(89.1), layout.Set1010())
	if err != nil {
		log.Fatal(err)
	}
	sites := layout.Sites(placements)
	microvolts := make([]float64, len(sites))
	for i, s := range sites {
		p := r3.Unit(s.Position)
		microvolts[i] = 3*p.Z + 2*p.Y - 7*math.Exp(-4*r3.Norm2(r3.Sub(p, r3.Vec{X: .75, Y: -.65})))
	}
	m, err := scalp.NewMap(sites, microvolts)
	if err != nil {
		log.Fatal(err)
	}
	m.Head = head.Ellipsoid{Right: 76, Front: 95, Up: 88}

	p := plot.New()
	p.HideAxes()
	p.Add(m)
	for _, name := range []string{"map.png", "map.svg", "map.pdf"} {
		if err := save(p, 6*vg.Centimeter, 7*vg.Centimeter, name); err != nil {
			log.Fatal(err)
		}
	}

	bar := plot.New()
	bar.HideY()
	bar.Y.Padding, bar.X.Padding = 10, 0 // room for half of the first number
	bar.X.Label.Text = "potential (microvolts)"
	bar.Add(&plotter.ColorBar{ColorMap: m.ColorMap()})
	if err := save(bar, 6*vg.Centimeter, 2*vg.Centimeter, "mapbar.png"); err != nil {
		log.Fatal(err)
	}
	fmt.Printf("colours from %g to %g µV\n", m.ColorMap().Min(), m.ColorMap().Max())
	// Output: colours from -10 to 10 µV
}

// Three maps over a curve of one site, each at its latency, with one limit.
func ExampleMap_insets() {
	placements, err := layout.Place(head.Sphere(89.1), layout.Set1020())
	if err != nil {
		log.Fatal(err)
	}
	sites := layout.Sites(placements)
	// potential in µV at a site and a time in ms: three waves with their
	// places.
	potential := func(s layout.Site, ms float64) float64 {
		p, sum := r3.Unit(s.Position), 0.
		for _, wave := range []struct {
			size, at, width float64
			place           r3.Vec
		}{
			{3, 90, 20, r3.Vec{Y: -1}},
			{-6, 210, 25, r3.Vec{X: .7, Y: -.7}},
			{5, 380, 50, r3.Vec{X: .2, Y: -.5, Z: .85}},
		} {
			sum += wave.size * math.Exp(-math.Pow((ms-wave.at)/wave.width, 2)/2) * r3.Dot(p, wave.place)
		}
		return sum
	}

	p := plot.New()
	p.X.Label.Text, p.Y.Label.Text = "time (ms)", "potential at P8 (microvolts)"
	p.X.Tick.Marker = chart.RoundTicks{Most: 8}
	var p8 layout.Site
	for _, s := range sites {
		if s.Name == "P8" {
			p8 = s
		}
	}
	var curve plotter.XYs
	for ms := 0.; ms <= 500; ms += 2 {
		curve = append(curve, plotter.XY{X: ms, Y: potential(p8, ms)})
	}
	line, err := plotter.NewLine(curve)
	if err != nil {
		log.Fatal(err)
	}
	line.Color = color.Gray{Y: 60}
	p.Add(line)

	for _, ms := range []float64{90, 210, 380} {
		microvolts := make([]float64, len(sites))
		for i, s := range sites {
			microvolts[i] = potential(s, ms)
		}
		m, err := scalp.NewMap(sites, microvolts)
		if err != nil {
			log.Fatal(err)
		}
		m.X, m.Y, m.Radius, m.Limit = ms, 8, 1.1*vg.Centimeter, 6
		p.Add(m)
	}
	for _, name := range []string{"maps.png", "maps.svg", "maps.pdf"} {
		if err := save(p, 12*vg.Centimeter, 9*vg.Centimeter, name); err != nil {
			log.Fatal(err)
		}
	}
	fmt.Printf("time from %g to %g ms\n", p.X.Min, p.X.Max)
	// Output: time from 0 to 500 ms
}
