package palette

import (
	"image/color"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The table of checks published with OKLab's definition (Ottosson 2020; from
// memory), three decimals. It starts from CIE XYZ under D65, which the inverse
// of the matrix of IEC 61966-2-1 turns into linear sRGB.
func TestOKLabPublishedTable(t *testing.T) {
	for _, row := range []struct{ xyz, want [3]float64 }{
		{[3]float64{0.950, 1.000, 1.089}, [3]float64{1.000, 0.000, 0.000}},
		{[3]float64{1, 0, 0}, [3]float64{0.450, 1.236, -0.019}},
		{[3]float64{0, 1, 0}, [3]float64{0.922, -0.671, 0.263}},
		{[3]float64{0, 0, 1}, [3]float64{0.153, -1.415, -0.449}},
	} {
		x, y, z := row.xyz[0], row.xyz[1], row.xyz[2]
		got := linear{
			3.2406*x - 1.5372*y - 0.4986*z,
			-0.9689*x + 1.8758*y + 0.0415*z,
			0.0557*x - 0.2040*y + 1.0570*z,
		}.lab()
		for i, v := range [3]float64{got.l, got.a, got.b} {
			// Both matrices are published to four digits.
			if math.Abs(v-row.want[i]) > 2.5e-3 {
				t.Errorf("XYZ %v: got %+.4f, want %v", row.xyz, got, row.want)
				break
			}
		}
	}
}

// OKLab of the primaries as CSS Color 4 gives them for its named colours
// (from memory).
func TestOKLabPrimaries(t *testing.T) {
	for _, row := range []struct {
		c    color.RGBA
		want lab
	}{
		{color.RGBA{255, 0, 0, 255}, lab{0.62796, 0.22486, 0.12585}},
		{color.RGBA{0, 255, 0, 255}, lab{0.86644, -0.23389, 0.17950}},
		{color.RGBA{0, 0, 255, 255}, lab{0.45201, -0.03246, -0.31153}},
		{color.RGBA{255, 255, 255, 255}, lab{1, 0, 0}},
	} {
		if got := fromRGBA(row.c).lab(); distance(got, row.want) > 2e-5 {
			t.Errorf("%v: got %+.5f, want %+.5f", row.c, got, row.want)
		}
	}
}

func TestOKLabRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		byteOf := rapid.Uint8()
		c := color.RGBA{byteOf.Draw(t, "r"), byteOf.Draw(t, "g"), byteOf.Draw(t, "b"), 255}
		if got := fromRGBA(c).lab().linear().rgba(); got != c {
			t.Fatalf("%v came back as %v", c, got)
		}
	})
}

func distance(x, y lab) float64 {
	return math.Sqrt((x.l-y.l)*(x.l-y.l) + (x.a-y.a)*(x.a-y.a) + (x.b-y.b)*(x.b-y.b))
}
