package canvas

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"strings"
	"testing"
	"time"
)

func partsOf(file []byte) (parts []Part, err error) {
	for p, err := range Parts(bytes.NewReader(file), int64(len(file))) {
		if err != nil {
			return parts, err
		}
		parts = append(parts, p)
	}
	return parts, nil
}

// moved is a film of two frames, the first white, the second black.
func moved(t testing.TB, format MovingFormat) []byte {
	t.Helper()
	frame := image.NewPaletted(image.Rect(0, 0, 30, 20), color.Palette{color.White, color.Black})
	var b bytes.Buffer
	m, err := NewMovie(&b, format, Still{Image: frame, Title: "Film", Resolution: 100}, made, 2, time.Second,
		time.Second)
	if err != nil {
		t.Fatal(err)
	}
	for k := range 2 {
		for i := range frame.Pix {
			frame.Pix[i] = uint8(k)
		}
		packed, err := m.Pack(frame)
		if err == nil {
			err = m.Add(frame.Rect.Size(), packed)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// Every picture comes back, with what the file says of itself.
func TestParts(t *testing.T) {
	for name, c := range map[string]struct {
		file []byte
		dots []uint32 // red of the first dot of each picture
	}{
		"png":  {written(t, trial{}, PNG), []uint32{0xffff}},
		"tiff": {written(t, trial{}, TIFF), []uint32{0xffff}},
		"gif":  {moved(t, GIF), []uint32{0xffff, 0}},
		"apng": {moved(t, APNG), []uint32{0xffff, 0}},
	} {
		parts, err := partsOf(c.file)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		records := 0
		var dots []uint32
		for _, p := range parts {
			if p.Provenance() != nil {
				records++
			}
			if p.Picture == nil {
				continue
			}
			img, err := p.Picture()
			if err != nil || img.Bounds().Size() != p.Size {
				t.Errorf("%s: %v, %v", name, p.Size, err)
				continue
			}
			r, _, _, _ := img.At(0, 0).RGBA()
			dots = append(dots, r)
		}
		if records != 1 || len(dots) != len(c.dots) || dots[0] != c.dots[0] ||
			dots[len(dots)-1] != c.dots[len(dots)-1] {
			t.Errorf("%s: %d records, dots %v", name, records, dots)
		}
	}
}

// Files that lie about their sizes or end too soon.
func TestPartsRefuses(t *testing.T) {
	png, gif, tiff := written(t, trial{}, PNG), moved(t, GIF), written(t, trial{}, TIFF)
	long := bytes.Clone(png)
	binary.BigEndian.PutUint32(long[8:], 1<<31)
	small := bytes.Clone(gif)
	small[bytes.Index(small, []byte{0x2c, 0, 0, 0, 0, 30, 0, 20, 0})+5] = 1
	for name, c := range map[string]struct {
		file []byte
		want string
	}{
		"nothing":                  {nil, "read the picture"},
		"a text":                   {[]byte("time\tCz\n0\t1\n"), "not a picture"},
		"a chunk beyond the file":  {long, "cut off"},
		"a chunk that was changed": {bytes.Replace(png, []byte("170ms"), []byte("180ms"), 1), "checksum"},
		"half a picture":           {png[:len(png)/2], "cut off"},
		"half a film":              {gif[:len(gif)/2], "cut off"},
		"a frame of another size":  {small, "as large as the film"},
		"a film without its palette": {append([]byte("GIF89a\x01\x00\x01\x00\x00"), make([]byte, 800)...),
			"palette"},
		"a TIFF of half its bytes": {tiff[:len(tiff)/2], "cut off"},
	} {
		if _, err := partsOf(c.file); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}

func FuzzParts(f *testing.F) {
	dot := sketch{10, 10, "Dot", func(c Canvas) { c.Fill(circle(5, 5, 2)) }}
	f.Add(written(f, dot, PNG))
	f.Add(written(f, dot, TIFF))
	f.Add(moved(f, GIF))
	f.Add(moved(f, APNG))
	f.Fuzz(func(t *testing.T, file []byte) {
		for p, err := range Parts(bytes.NewReader(file), int64(len(file))) {
			if err != nil {
				return
			}
			if p.Picture == nil || p.Size.X > 1000 || p.Size.Y > 1000 {
				continue // nobody unpacks what is not as large as expected
			}
			if img, err := p.Picture(); err == nil && img.Bounds().Size() != p.Size {
				t.Errorf("%v, and the picture has %v", p.Size, img.Bounds().Size())
			}
		}
	})
}
