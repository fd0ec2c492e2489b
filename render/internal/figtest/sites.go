package figtest

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/topo"
)

// SixtyFour are the sites of a common cap: the ring and all within it at tenths
// and quarters, with T9, T10 and Iz.
var SixtyFour = []layout.Name{
	"Fp1", "Fpz", "Fp2", "AF7", "AF3", "AFz", "AF4", "AF8",
	"F7", "F5", "F3", "F1", "Fz", "F2", "F4", "F6", "F8",
	"FT7", "FC5", "FC3", "FC1", "FCz", "FC2", "FC4", "FC6", "FT8",
	"T9", "T7", "C5", "C3", "C1", "Cz", "C2", "C4", "C6", "T8", "T10",
	"TP7", "CP5", "CP3", "CP1", "CPz", "CP2", "CP4", "CP6", "TP8",
	"P7", "P5", "P3", "P1", "Pz", "P2", "P4", "P6", "P8",
	"PO7", "PO3", "POz", "PO4", "PO8", "O1", "Oz", "O2", "Iz",
}

// SplineOf is the spline of the sites on a head of usual size.
func SplineOf(t testing.TB, sites []layout.Site) *topo.Spline {
	t.Helper()
	s, err := topo.New(sites, topo.Options{Radius: 89.127})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Dipole is the potential on the unit sphere of a current dipole inside, up to
// a factor (methods: homogeneous sphere).
func Dipole(r, at, moment r3.Vec) float64 {
	d := r3.Sub(r, at)
	distance := r3.Norm(d)
	return r3.Dot(moment, r3.Add(r3.Scale(2/math.Pow(distance, 3), d),
		r3.Scale(1/(1-r3.Dot(r, at)+distance), r3.Add(r, r3.Scale(1/distance, d)))))
}

// Amplitudes are what a pair of occipital sources of unequal strength and a
// deep central one give at the sites, a column for each latency.
func Amplitudes(sites []layout.Site, columns int) *mat.Dense {
	v := mat.NewDense(len(sites), columns, nil)
	for i, s := range sites {
		r := r3.Unit(s.Position)
		for c := range columns {
			time := float64(c+1) / float64(columns)
			v.Set(i, c, -.6*(1-.6*time)*
				(1.4*Dipole(r, r3.Vec{X: .45, Y: -.5, Z: -.1}, r3.Vec{X: .6, Y: -.7, Z: -.2})+
					Dipole(r, r3.Vec{X: -.45, Y: -.5, Z: -.1}, r3.Vec{X: -.6, Y: -.7, Z: -.2}))+
				time*Dipole(r, r3.Vec{Y: -.1, Z: .4}, r3.Vec{Y: -.3, Z: 1}))
		}
	}
	return v
}
