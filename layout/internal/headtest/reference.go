package headtest

import (
	"encoding/json"
	"os"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// Reference holds the numbers of testdata/layout/points.py.
type Reference struct {
	Published struct {
		Sites, Landmarks map[string][3]float64
		Radius, RMS      float64
	}
	Scattered struct {
		Points [][3]float64
		Sphere struct {
			Centre      [3]float64
			Radius, RMS float64
		}
		Ellipsoid struct {
			Axes, Centre [3]float64
			Scale, RMS   float64
		}
	}
	Cap struct {
		Ideal, Measured [][3]float64
		Turn, Errors    [3]float64
		Along           []float64
		Rigid           struct {
			Turn, Shift [3]float64
			RMS         float64
		}
	}
}

// ReadReference reads the reference numbers.
func ReadReference(t *testing.T) Reference {
	t.Helper()
	text, err := os.ReadFile("../../testdata/layout/points.json")
	if err != nil {
		t.Fatal(err)
	}
	var r Reference
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	return r
}

// Vec is a vector of the reference numbers.
func Vec(v [3]float64) r3.Vec { return r3.Vec{X: v[0], Y: v[1], Z: v[2]} }

// Numbered names points by the sites of the 10-5 system, whatever they are.
func Numbered(points [][3]float64) []layout.Site {
	sites := make([]layout.Site, len(points))
	for i, p := range points {
		sites[i] = layout.Site{Name: string(layout.Set1005()[20+i]), Position: Vec(p)}
	}
	return sites
}
