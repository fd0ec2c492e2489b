package canvas

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/png"
	"testing"

	"pgregory.net/rapid"
)

// chunks reads a PNG's parts by the standard's rules alone.
func chunks(t testing.TB, file []byte) (kinds []string, data map[string][][]byte) {
	t.Helper()
	data = map[string][][]byte{}
	for file = file[8:]; len(file) > 0; {
		n := binary.BigEndian.Uint32(file)
		kind := string(file[4:8])
		kinds = append(kinds, kind)
		data[kind] = append(data[kind], file[8:8+n])
		file = file[12+n:]
	}
	return kinds, data
}

func TestPNGParts(t *testing.T) {
	file := written(t, trial{}, PNG)
	kinds, data := chunks(t, file)
	want := []string{"IHDR", "pHYs", "iTXt", "iTXt", "iTXt", "iTXt", "IDAT", "IEND"}
	if !equal(kinds, want) {
		t.Errorf("chunks %v, want %v", kinds, want)
	}
	// 300 dots per inch are 11811.02 a metre.
	if got := data["pHYs"][0]; binary.BigEndian.Uint32(got) != 11811 || binary.BigEndian.Uint32(got[4:]) != 11811 ||
		got[8] != 1 {
		t.Errorf("pHYs % x", got)
	}
	if got, want := string(data["iTXt"][0]), "Title\x00\x00\x00\x00\x00Trial <sheet> & “all”"; got != want {
		t.Errorf("first text %q, want %q", got, want)
	}
	img, err := png.Decode(bytes.NewReader(file)) // checks every checksum
	if err != nil {
		t.Fatal(err)
	}
	if size := img.Bounds().Size(); size != image.Pt(1000, 700) { // 240 × 168 pt
		t.Errorf("%v pixels", size)
	}
}

func equal(a, b []string) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

func TestPNGKeepsPixels(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		size := image.Pt(rapid.IntRange(1, 9).Draw(r, "width"), rapid.IntRange(1, 9).Draw(r, "height"))
		corner := image.Pt(rapid.IntRange(-3, 3).Draw(r, "x"), rapid.IntRange(-3, 3).Draw(r, "y"))
		opaque := rapid.Bool().Draw(r, "opaque")
		img := image.NewRGBA(image.Rectangle{Max: size}.Add(corner))
		for i := 0; i < len(img.Pix); i += 4 {
			c := color.NRGBA{R: rapid.Uint8().Draw(r, "r"), B: 100, A: 255}
			if !opaque {
				c.A = rapid.Uint8().Draw(r, "a")
			}
			p := color.RGBAModel.Convert(c).(color.RGBA)
			copy(img.Pix[i:], []uint8{p.R, p.G, p.B, p.A})
		}
		var b bytes.Buffer
		if err := encodePNG(&b, img, 0, nil); err != nil {
			r.Fatal(err)
		}
		got, err := png.Decode(&b)
		if err != nil {
			r.Fatal(err)
		}
		for y := range size.Y {
			for x := range size.X {
				want := img.RGBAAt(corner.X+x, corner.Y+y)
				if g := color.RGBAModel.Convert(got.At(x, y)).(color.RGBA); difference(g, want) > 1 ||
					g.A != want.A {
					r.Fatalf("pixel %d, %d: got %v, want %v", x, y, g, want)
				}
			}
		}
	})
}
