package canvas

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/gif"
	"image/png"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
	"time"

	"calotte/layout/hostile"
	"calotte/topo/provenance"
)

var made = provenance.Record{Program: "calotte", Version: "1", Work: "frames"}

func stills(n int) []*image.Paletted {
	random := rand.New(rand.NewPCG(1, uint64(n)))
	var colours color.Palette
	for i := range 256 {
		colours = append(colours, color.RGBA{uint8(i), uint8(255 - i), uint8(i * 7), 255})
	}
	var list []*image.Paletted
	for range n {
		img := image.NewPaletted(image.Rect(0, 0, 37, 23), colours)
		for i := range img.Pix {
			img.Pix[i] = uint8(random.IntN(256))
		}
		list = append(list, img)
	}
	return list
}

func movie(t *testing.T, format MovingFormat, frames []*image.Paletted) []byte {
	t.Helper()
	var b bytes.Buffer
	m, err := NewMovie(&b, format, Still{Image: frames[0], Title: "title", Description: "µV", Resolution: 100},
		made,
		len(frames), 170*time.Millisecond, 2*time.Second)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range frames {
		data, err := m.Pack(f)
		if err != nil {
			t.Fatal(err)
		}
		if err := m.Add(f.Rect.Size(), data); err != nil {
			t.Fatal(err)
		}
	}
	if err := m.Add(frames[0].Rect.Size(), nil); err == nil {
		t.Error("one frame too many is taken")
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// The standard library's decoder gives every frame, delay and the loop back.
func TestGIFReadsBack(t *testing.T) {
	frames := stills(3)
	b := movie(t, GIF, frames)
	got, err := gif.DecodeAll(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Image) != 3 || got.LoopCount != 0 || got.Delay[0] != 17 || got.Delay[1] != 17 ||
		got.Delay[2] != 200 {
		t.Fatalf("%d frames, loop %d, delays %v", len(got.Image), got.LoopCount, got.Delay)
	}
	for k, img := range got.Image {
		for i := range img.Pix {
			if img.Palette[img.Pix[i]] != frames[k].Palette[frames[k].Pix[i]] {
				t.Fatalf("frame %d, pixel %d differs", k, i)
			}
		}
	}
	p, err := ReadProvenance(bytes.NewReader(b), int64(len(b)))
	if err != nil || p.Work != "frames" {
		t.Errorf("%+v, %v", p, err)
	}
}

// Each frame of an animated PNG, put into a PNG of its own, is read by the
// standard library; counts and delays are those of the standard's chunks.
func TestAPNGReadsBack(t *testing.T) {
	frames := stills(3)
	b := movie(t, APNG, frames)
	if _, err := png.Decode(bytes.NewReader(b)); err != nil {
		t.Fatalf("the first frame: %v", err)
	}
	var delays [][2]uint16
	var data [][]byte
	sequence := uint32(0)
	for at := len(pngSignature); at < len(b); {
		n := int(binary.BigEndian.Uint32(b[at:]))
		kind, body := string(b[at+4:at+8]), b[at+8:at+8+n]
		switch kind {
		case "acTL":
			if frames, plays := binary.BigEndian.Uint32(body),
				binary.BigEndian.Uint32(body[4:]); frames != 3 ||
				plays != 0 {
				t.Errorf("%d frames, %d plays", frames, plays)
			}
		case "fcTL", "fdAT":
			if got := binary.BigEndian.Uint32(body); got != sequence {
				t.Errorf("%s has the number %d, want %d", kind, got, sequence)
			}
			sequence++
			if kind == "fcTL" {
				delays = append(delays, [2]uint16{binary.BigEndian.Uint16(body[20:]),
					binary.BigEndian.Uint16(body[22:])})
			} else {
				data = append(data, body[4:])
			}
		case "IDAT":
			data = append(data, body)
		}
		at += 12 + n
	}
	if want := [][2]uint16{{170, 1000}, {170, 1000},
		{2000, 1000}}; len(delays) != 3 || delays[0] != want[0] || delays[1] != want[1] ||
		delays[2] != want[2] {
		t.Errorf("delays %v, want %v", delays, want)
	}
	for k, packed := range data {
		var one bytes.Buffer
		c := chunkWriter{w: &one}
		c.begin(frames[0], 100)
		c.chunk("IDAT", packed)
		c.chunk("IEND", nil)
		img, err := png.Decode(&one)
		if err != nil {
			t.Fatalf("frame %d: %v", k, err)
		}
		if !bytes.Equal(img.(*image.Paletted).Pix, frames[k].Pix) {
			t.Errorf("frame %d differs", k)
		}
	}
	if p, err := ReadProvenance(bytes.NewReader(b), int64(len(b))); err != nil || p.Work != "frames" {
		t.Errorf("%+v, %v", p, err)
	}
}

func TestStillReadsBack(t *testing.T) {
	img := stills(1)[0]
	var b bytes.Buffer
	if err := WriteStill(&b, Still{Image: img, Title: "t", Description: "d", Latency: "0.17 s", Resolution: 100},
		made); err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(b.Bytes(), []byte("Latency\x00\x00\x00\x00\x000.17 s")) {
		t.Error("the latency is not in a text chunk")
	}
	got, err := png.Decode(&b)
	if err != nil || !bytes.Equal(got.(*image.Paletted).Pix, img.Pix) {
		t.Errorf("%v", err)
	}
}

func FuzzGIFRecord(f *testing.F) {
	f.Add([]byte("GIF89a"))
	for _, b := range hostile.Seeds(f, os.DirFS("../../testdata/corpus"), "figures/*.gif") {
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		defer hostile.Budget(t, len(data))()
		if _, err := ReadProvenance(bytes.NewReader(data), int64(len(data))); err == nil && len(data) < 20 {
			t.Errorf("%q has a provenance", data)
		}
	})
}

// A GIF that was cut off says so, wherever in its record the cut is.
func TestGIFCutOff(t *testing.T) {
	b := movie(t, GIF, stills(2))
	at := bytes.Index(b, gifMark)
	if at < 0 {
		t.Fatal("the film has no record")
	}
	for _, n := range []int{at - 1, at + 3, at + len(gifMark) + 20} {
		if _, err := ReadProvenance(bytes.NewReader(b[:n]), int64(n)); err == nil ||
			!strings.Contains(err.Error(), "cut off") {
			t.Errorf("cut at byte %d: %v", n, err)
		}
	}
}
