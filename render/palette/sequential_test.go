package palette

import (
	"math"
	"testing"
)

var sequentialScales = []struct {
	name   string
	scale  Scale
	from   float64 // the value of the lightest colour
	to     float64 // and of the darkest
	slope  float64 // lightness per unit of value
	chroma float64 // most at the lightest end
}{
	{"sequential", Sequential, 0, 1, -0.60, 0.03},
	{"grey", Grey, 1, -1, 0.26, rounding},
	{"grey sequential", GreySequential, 0, 1, -0.52, rounding},
}

// Lightness runs evenly from one end to the other, so that grey print keeps the
// order, and no colour is cut by the screen.
func TestSequentialLightnessIsEven(t *testing.T) {
	for _, s := range sequentialScales {
		first := fromRGBA(s.scale.At(s.from)).lab()
		if first.l < 0.95 || first.chroma() > s.chroma {
			t.Errorf("%s begins at %+.3f, which is not near the paper's white", s.name, first)
		}
		for k := range 101 {
			v := s.from + (s.to-s.from)*float64(k)/100
			got := fromRGBA(s.scale.At(v)).lab()
			if want := first.l + s.slope*(v-s.from); math.Abs(got.l-want) > 2*rounding {
				t.Errorf("%s at %.2f: lightness %.4f, want %.4f", s.name, v, got.l, want)
			}
		}
		if last := fromRGBA(s.scale.At(s.to)).lab(); last.l < 0.36 {
			t.Errorf("%s ends at lightness %.3f, too dark for marks in ink", s.name, last.l)
		}
	}
}

// Equal steps look alike to every eye.
func TestSequentialStepsAreEven(t *testing.T) {
	for _, s := range sequentialScales {
		for _, e := range eyes {
			least, most := math.Inf(1), 0.0
			for k := range 20 {
				at := func(k int) lab {
					return e.sees(fromRGBA(s.scale.At(s.from +
						(s.to-s.from)*float64(k)/20)))
				}
				d := distance(at(k), at(k+1))
				least, most = min(least, d), max(most, d)
			}
			t.Logf("%s, %s: steps from %.4f to %.4f", s.name, e.name, least, most)
			if least < 0.5*most {
				t.Errorf("%s, %s: steps from %.4f to %.4f", s.name, e.name, least, most)
			}
		}
	}
}
