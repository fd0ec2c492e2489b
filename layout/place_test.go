package layout

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// Computed apart from this package while the method was written down, on the
// unit sphere, to six decimals.
var unitSphere = map[Name]r3.Vec{
	"F3":  {X: -0.540543, Y: 0.672982, Z: 0.504884},
	"AF3": {X: -0.355363, Y: 0.892445, Z: 0.277955},
	"FC3": {X: -0.663982, Y: 0.361221, Z: 0.654712},
	"F5":  {X: -0.721713, Y: 0.634479, Z: 0.276708},
	"TP9": {X: -0.878662, Y: -0.285494, Z: -0.382683},
}

func TestPlaceOnUnitSphere(t *testing.T) {
	for name, want := range unitSphere {
		got := mustPlace(t, Sphere(1), name)[0].Position
		if d := r3.Norm(r3.Sub(got, want)); d > math.Sqrt(3)*0.5e-6 {
			t.Errorf("%s at %.6f, want %.6f", name, got, want)
		}
	}
}

func mustPlace(t testing.TB, s Surface, list ...Name) []Placement {
	t.Helper()
	placements, err := Place(s, list)
	if err != nil {
		t.Fatal(err)
	}
	return placements
}
