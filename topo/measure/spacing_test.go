package measure

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// At angles of 0, 10, 30 and 60° of a circle the nearest are 10, 10, 20 and 30°
// away.
func TestSpacing(t *testing.T) {
	var positions []r3.Vec
	for k, degrees := range []float64{0, 10, 30, 60} {
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		positions = append(positions, r3.Scale(float64(k+1), r3.Vec{Y: sin, Z: cos}))
	}
	if got, want := Spacing(positions), 15*math.Pi/180; math.Abs(got-want) > 1e-12 {
		t.Errorf("%v, want %v", got, want)
	}
	if got := Spacing(positions[:1]); got != math.Pi {
		t.Errorf("of one: %v", got)
	}
	if got := Spacing(nil); !math.IsNaN(got) {
		t.Errorf("of none: %v", got)
	}
}
