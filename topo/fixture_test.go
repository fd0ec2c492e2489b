package topo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"calotte/layout"
	"calotte/layout/head"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// sixtyFour are the channels of the EEG Motor Movement/Imagery Dataset v1.0.0
// (Schalk et al. 2004), in their order.
const sixtyFour = `FC5 FC3 FC1 FCz FC2 FC4 FC6 C5 C3 C1 Cz C2 C4 C6 CP5 CP3 CP1 CPz CP2 CP4 CP6
	Fp1 Fpz Fp2 AF7 AF3 AFz AF4 AF8 F7 F5 F3 F1 Fz F2 F4 F6 F8 FT7 FT8 T7 T8 T9 T10 TP7 TP8
	P7 P5 P3 P1 Pz P2 P4 P6 P8 PO7 PO3 POz PO4 PO8 O1 Oz O2 Iz`

// radius of the default head, 560 mm around, in mm.
const radius = 560 / (2 * math.Pi)

func place(t testing.TB, names []layout.Name) []layout.Site {
	t.Helper()
	model, err := head.Default().Model()
	if err != nil {
		t.Fatal(err)
	}
	placed, err := layout.Place(model, names)
	if err != nil {
		t.Fatal(err)
	}
	return layout.Sites(placed)
}

func sites64(t testing.TB) []layout.Site {
	var names []layout.Name
	for _, n := range strings.Fields(sixtyFour) {
		names = append(names, layout.Name(n))
	}
	return place(t, names)
}

// sites128 are spread evenly over a cap that reaches 25° below the equator.
func sites128() []layout.Site {
	sites := make([]layout.Site, 128)
	for i, p := range spread(180)[:128] {
		sites[i] = layout.Site{Name: fmt.Sprintf("E%d", i+1), Position: p}
	}
	return sites
}

func sites345(t testing.TB) []layout.Site { return place(t, layout.Set1005()) }

func build(t testing.TB, sites []layout.Site, o Options) *Spline {
	t.Helper()
	if o.Radius == 0 {
		o.Radius = radius
	}
	s, err := New(sites, o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func solve(t testing.TB, s *Spline, amplitudes mat.Matrix) *Coefficients {
	t.Helper()
	c, err := s.Solve(amplitudes)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// white is noise of 10 µV.
func white(rows, columns int) *mat.Dense {
	random := rand.New(rand.NewPCG(7, 11))
	v := mat.NewDense(rows, columns, nil)
	for i := range rows {
		for j := range columns {
			v.Set(i, j, 10*random.NormFloat64())
		}
	}
	return v
}

func positions(sites []layout.Site) []r3.Vec {
	points := make([]r3.Vec, len(sites))
	for i, s := range sites {
		points[i] = s.Position
	}
	return points
}

// spread returns unit vectors evenly over the sphere, on a golden spiral.
func spread(count int) []r3.Vec {
	points := make([]r3.Vec, count)
	for i := range points {
		z := 1 - (2*float64(i)+1)/float64(count)
		angle := math.Pi * (3 - math.Sqrt(5)) * float64(i)
		points[i] = r3.Vec{X: math.Sqrt(1-z*z) * math.Cos(angle), Y: math.Sqrt(1-z*z) * math.Sin(angle), Z: z}
	}
	return points
}

// farthest is the largest absolute difference.
func farthest(a, b mat.Matrix) float64 {
	var d mat.Dense
	d.Sub(a, b)
	return math.Max(mat.Max(&d), -mat.Min(&d))
}
