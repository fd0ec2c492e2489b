package film_test

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"log"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/film"
	"calotte/render/scalp"
	"calotte/topo"
)

// keep stands for writing a frame to a file of that name.
var keep = func(frame []byte, name string) error { return nil }

// Two conditions side by side: a PNG file for each of three frames.
func ExampleFilm_Compose() {
	placements, err := layout.Place(head.Sphere(89.1), layout.Set1010())
	if err != nil {
		log.Fatal(err)
	}
	var sites []layout.Site // of a cap that ends at the ring of T7 and T8
	for _, s := range layout.Sites(placements) {
		if s.Position.Z > -1 {
			sites = append(sites, s)
		}
	}
	spline, err := topo.New(sites, topo.Options{Radius: 89.1})
	if err != nil {
		log.Fatal(err)
	}
	maps := film.Film{Times: []float64{.13, .17, .21}, Reference: fmt.Sprintf("average of %d sites", len(sites)),
		Synthetic: true}
	for k := range 61 {
		maps.PowerTimes = append(maps.PowerTimes, -.1+.01*float64(k))
	}
	for _, condition := range []struct {
		title string
		size  float64 // µV
	}{{"known", 6}, {"novel", 3}} {
		wave := func(time float64) float64 { return condition.size * math.Exp(-math.Pow((time-.17)/.05, 2)) }
		amplitudes := mat.NewDense(len(sites), len(maps.Times), nil)
		for i, s := range sites {
			for k, time := range maps.Times {
				amplitudes.Set(i, k, wave(time)*r3.Dot(r3.Unit(s.Position),
					r3.Vec{X: -.4, Y: .8, Z: .2}))
			}
		}
		var power []float64
		for _, time := range maps.PowerTimes {
			power = append(power, wave(time)/2)
		}
		maps.Power = append(maps.Power, power)
		maps.Rows = append(maps.Rows, scalp.Row{
			Title: condition.title, Note: "12 people", Spline: spline, Values: amplitudes,
			Marks: scalp.MeasuredAt(sites),
		})
	}
	plate, err := maps.Compose()
	if err != nil {
		log.Fatal(err)
	}
	err = plate.Frames(func(k int, img *image.Paletted) ([]byte, error) {
		var b bytes.Buffer
		err := png.Encode(&b, img)
		return b.Bytes(), err
	}, func(k int, frame []byte) error {
		return keep(frame, fmt.Sprintf("frame-%d.png", k+1))
	})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("frames of %d × %d pixels, colours to ±%g µV\n", plate.Width, plate.Height, plate.Scale.Limit)
	// Output: frames of 960 × 480 pixels, colours to ±6 µV
}
