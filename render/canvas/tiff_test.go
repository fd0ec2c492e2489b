package canvas

import (
	"bytes"
	"image"
	"image/color"
	"math/rand/v2"
	"os"
	"testing"

	"golang.org/x/image/tiff"
	"pgregory.net/rapid"

	"calotte/layout/hostile"
	"calotte/topo/provenance"
)

// The TIFF reader of golang.org/x/image reads back every pixel, whatever the
// strips and however full the code table.
func TestTIFFReadsBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		width, height := rapid.IntRange(1, 400).Draw(rt, "width"), rapid.IntRange(1, 120).Draw(rt, "height")
		colours := rapid.SampledFrom([]int{1, 2, 7, 256}).Draw(rt, "colours")
		random := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1))
		img := image.NewRGBA(image.Rect(0, 0, width, height))
		for i := range img.Pix {
			img.Pix[i] = uint8(random.IntN(colours) * (255 / colours))
			if i%4 == 3 {
				img.Pix[i] = 255
			}
		}
		var b bytes.Buffer
		if err := encodeTIFF(&b, img, 300, "title", "−2.1 µV",
			origin{"calotte", []byte(`{"program":"calotte"}`)}); err != nil {
			rt.Fatal(err)
		}
		got, err := tiff.Decode(bytes.NewReader(b.Bytes()))
		if err != nil {
			rt.Fatal(err)
		}
		for y := range height {
			for x := range width {
				if c := color.RGBAModel.Convert(got.At(x, y)); c != img.RGBAAt(x, y) {
					rt.Fatalf("(%d, %d) is %v, want %v", x, y, c, img.RGBAAt(x, y))
				}
			}
		}
	})
}

// Codes widen and the table is cleared at the right places: long runs of random
// bytes and of one byte pass all of them.
func TestLZWPassesEveryWidth(t *testing.T) {
	for _, n := range []int{0, 1, 253, 254, 255, 256, 257, 765, 1000, 3838, 3839, 3840, 3841, 100000} {
		for _, spread := range []int{1, 3, 256} {
			random := rand.New(rand.NewPCG(uint64(n), uint64(spread)))
			img := image.NewRGBA(image.Rect(0, 0, max(n, 1), 1))
			for i := range img.Pix {
				img.Pix[i] = uint8(random.IntN(spread))
				if i%4 == 3 {
					img.Pix[i] = 255
				}
			}
			var b bytes.Buffer
			if err := encodeTIFF(&b, img, 600, "", "", origin{"", []byte("{}")}); err != nil {
				t.Fatal(err)
			}
			got, err := tiff.Decode(&b)
			if err != nil {
				t.Fatalf("%d pixels of %d values: %v", n, spread, err)
			}
			for x := range img.Rect.Dx() {
				if c := color.RGBAModel.Convert(got.At(x, 0)); c != img.RGBAAt(x, 0) {
					t.Fatalf("%d pixels of %d values: number %d is %v, want %v", n, spread, x, c,
						img.RGBAAt(x, 0))
				}
			}
		}
	}
}

func FuzzTIFFRecord(f *testing.F) {
	img := image.NewRGBA(image.Rect(0, 0, 3, 2))
	var b bytes.Buffer
	if err := encodeTIFF(&b, img, 300, "t", "d", origin{"calotte", []byte(`{"program":"calotte"}`)}); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Add([]byte(tiffSignature))
	for _, b := range hostile.Seeds(f, os.DirFS("../../testdata/corpus"), "figures/*.tiff") {
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		defer hostile.Budget(t, len(data))()
		p, err := ReadProvenance(bytes.NewReader(data), int64(len(data)))
		if err == nil && len(data) < 8 {
			t.Errorf("%q has the provenance %+v", data, p)
		}
	})
}

func TestTIFFKeepsItsProvenance(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 3, 2))
	o, err := newOrigin(provenance.Record{Program: "calotte", Version: "1", Work: "map"})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := encodeTIFF(&b, img, 300, "t", "d", o); err != nil {
		t.Fatal(err)
	}
	got, err := ReadProvenance(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil || got.Work != "map" {
		t.Errorf("%+v, %v", got, err)
	}
	for n := range b.Len() {
		if _, err := ReadProvenance(bytes.NewReader(b.Bytes()[:n]), int64(n)); err == nil {
			t.Fatalf("the first %d of %d bytes have a provenance", n, b.Len())
		}
	}
}
