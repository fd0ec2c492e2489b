package palette

import (
	"fmt"
	"image/color"
	"math"
	"testing"
)

// The tests work on the eight-bit colours that a reader gets, whose rounding
// moves a colour by up to about 0.004 in OKLab.
const rounding = 0.004

func seen(value float64) lab { return fromRGBA(Diverging.At(value)).lab() }

func TestDivergingIsWithinTheScreen(t *testing.T) {
	for i := range steps {
		c := diverging.at(stepValue(i)).linear()
		for _, x := range []float64{c.r, c.g, c.b} {
			if x < 0 || x > 1 {
				t.Errorf("value %.3f needs %+.4f: outside of sRGB", stepValue(i), c)
			}
		}
	}
}

// Lightness falls evenly from the middle to each end.
func TestDivergingLightnessIsEven(t *testing.T) {
	for i := range steps {
		v := stepValue(i)
		if got, want := seen(v).l, 0.97-0.55*math.Abs(v); math.Abs(got-want) > rounding {
			t.Errorf("value %.3f: lightness %.4f, want %.4f", v, got, want)
		}
	}
	// Monotone at a finer look than rounding: over eight steps each.
	for i := 8; i < steps/2; i++ {
		if seen(stepValue(i)).l <= seen(stepValue(i-8)).l {
			t.Errorf("lightness does not rise from step %d to %d", i-8, i)
		}
	}
}

// Both sides are equally strong: in lightness and in chroma.
func TestDivergingSidesAreEquallyStrong(t *testing.T) {
	for i := range steps / 2 {
		v := stepValue(i)
		minus, plus := seen(v), seen(-v)
		if d := math.Abs(minus.l - plus.l); d > rounding {
			t.Errorf("±%.3f: lightness differs by %.4f", -v, d)
		}
		if d := math.Abs(minus.chroma() - plus.chroma()); d > 1.5*rounding {
			t.Errorf("±%.3f: chroma differs by %.4f", -v, d)
		}
	}
}

// Steps of a twentieth of a side look alike everywhere, and no step is lost to
// any eye: the smallest is at least 0.6 of the largest to the common eye, 0.5
// to the others.
func TestDivergingStepsAreEven(t *testing.T) {
	const n = 40
	for i, e := range eyes {
		least, most := math.Inf(1), 0.0
		for k := range n {
			d := distance(e.sees(fromRGBA(Diverging.At(float64(2*k)/n-1))),
				e.sees(fromRGBA(Diverging.At(float64(2*k+2)/n-1))))
			least, most = min(least, d), max(most, d)
		}
		t.Logf("%s: steps of 0.05 from %.4f to %.4f", e.name, least, most)
		share := 0.5
		if i == 0 {
			share = 0.6
		}
		if least < share*most || least < 0.02 {
			t.Errorf("%s: steps from %.4f to %.4f", e.name, least, most)
		}
	}
}

// Any two values that differ have different colours to every eye: at least
// 0.1 in OKLab for each unit of value between them. Just noticeable is
// about 0.02 (common practice, no source).
func TestDivergingNeverRepeatsAColour(t *testing.T) {
	const n = 100
	for _, e := range eyes {
		var colours [2*n + 1]lab
		for i := range colours {
			colours[i] = e.sees(fromRGBA(Diverging.At(float64(i-n) / n)))
		}
		least, at := math.Inf(1), ""
		for i := range colours {
			for j := i + n/10; j < len(colours); j++ {
				apart := float64(j-i) / n
				if d := distance(colours[i], colours[j]) / apart; d < least {
					least, at = d, fmt.Sprintf("%.2f and %.2f", float64(i-n)/n, float64(j-n)/n)
				}
			}
		}
		t.Logf("%s: least contrast per unit %.3f, at %s", e.name, least, at)
		if least < 0.1 {
			t.Errorf("%s: contrast per unit %.3f between %s", e.name, least, at)
		}
	}
}

// The two signs of a value are apart to every eye.
func TestDivergingSignsAreDistinct(t *testing.T) {
	for _, row := range []struct{ value, least float64 }{{0.1, 0.035}, {0.25, 0.09}, {0.5, 0.17}, {1, 0.2}} {
		for _, e := range eyes {
			d := distance(e.sees(fromRGBA(Diverging.At(row.value))),
				e.sees(fromRGBA(Diverging.At(-row.value))))
			t.Logf("%s: ±%.2f are %.3f apart", e.name, row.value, d)
			if d < row.least {
				t.Errorf("%s: ±%.2f are %.3f apart, want %.3f", e.name, row.value, d, row.least)
			}
		}
	}
}

func TestMissingIsNoColourOfTheScale(t *testing.T) {
	if Missing.R != Missing.G || Missing.G != Missing.B {
		t.Errorf("Missing %v is not grey", Missing)
	}
	if l := fromRGBA(Missing).lab().l; math.Abs(l-0.75) > rounding {
		t.Errorf("Missing has lightness %.3f, want 0.75", l)
	}
	for _, e := range eyes {
		least := math.Inf(1)
		for i := range steps {
			least = min(least, distance(e.sees(fromRGBA(Missing)),
				e.sees(fromRGBA(Diverging.At(stepValue(i))))))
		}
		t.Logf("%s: the nearest colour is %.3f away", e.name, least)
		if least < 0.05 {
			t.Errorf("%s: a colour of the scale is %.3f from Missing, want 0.05", e.name, least)
		}
	}
}

func TestAt(t *testing.T) {
	for _, row := range []struct {
		value float64
		same  color.RGBA
	}{
		{math.NaN(), Missing},
		{-7, Diverging.At(-1)},
		{math.Inf(-1), Diverging.At(-1)},
		{math.Inf(1), Diverging.At(1)},
		{1e-9, Diverging.At(0)},
	} {
		if got := Diverging.At(row.value); got != row.same {
			t.Errorf("At(%v) = %v, want %v", row.value, got, row.same)
		}
	}
	if middle := fromRGBA(Diverging.At(0)).lab(); middle.chroma() > 0.001 {
		t.Errorf("zero has chroma %.4f, want none", middle.chroma())
	}
	if Diverging.At(-1).B <= Diverging.At(-1).R || Diverging.At(1).R <= Diverging.At(1).B {
		t.Error("the negative side should be cool and the positive one warm")
	}
}

func ExampleScale_At() {
	for _, value := range []float64{-1, -0.5, 0, 0.5, 1, math.NaN()} {
		c := Diverging.At(value)
		fmt.Printf("%4.1f  #%02x%02x%02x\n", value, c.R, c.G, c.B)
	}
	// Output:
	// -1.0  #2a42a0
	// -0.5  #59a5db
	//  0.0  #f5f5f5
	//  0.5  #d4875c
	//  1.0  #8f151c
	//  NaN  #aeaeae
}

func BenchmarkAt(b *testing.B) {
	v := -1.0
	for b.Loop() {
		Diverging.At(v)
		if v += 0.001; v > 1 {
			v = -1
		}
	}
}

func BenchmarkTable(b *testing.B) {
	for b.Loop() {
		tableOf(diverging.at)()
	}
}
