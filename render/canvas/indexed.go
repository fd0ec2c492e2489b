package canvas

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"io"
	"math"

	"github.com/klauspost/compress/zlib"

	"calotte/topo/provenance"
)

// A Still is an image of at most 256 colours with what it says of itself.
type Still struct {
	Image              *image.Paletted
	Title, Description string
	Latency            string // a text of its own, empty: none
	Resolution         int    // dots per inch
}

// WriteStill writes a still as an indexed PNG.
func WriteStill(w io.Writer, s Still, p provenance.Record) error {
	o, err := newOrigin(p)
	if err != nil {
		return err
	}
	data, err := packIndexes(s.Image)
	if err != nil {
		return err
	}
	c := chunkWriter{w: w}
	c.begin(s.Image, s.Resolution)
	for _, n := range s.notes(o) {
		c.note(n)
	}
	c.chunk("IDAT", data)
	c.chunk("IEND", nil)
	return c.err
}

func (s Still) notes(o origin) []note {
	list := []note{{"Title", s.Title}, {"Description", s.Description}, {"Software", o.software},
		{provenanceKeyword, string(o.record)}}
	if s.Latency != "" {
		list = append(list, note{"Latency", s.Latency})
	}
	return list
}

// begin writes what stands before the notes: size, resolution and palette.
func (c *chunkWriter) begin(img *image.Paletted, resolution int) {
	c.write([]byte(pngSignature))
	size := img.Rect.Size()
	header := binary.BigEndian.AppendUint32(nil, uint32(size.X))
	header = binary.BigEndian.AppendUint32(header, uint32(size.Y))
	c.chunk("IHDR", append(header, 8, 3, 0, 0, 0)) // eight bits, indexes of a palette
	dots := uint32(math.Round(float64(resolution) / 0.0254))
	physical := binary.BigEndian.AppendUint32(nil, dots)
	c.chunk("pHYs", append(binary.BigEndian.AppendUint32(physical, dots), 1))
	c.chunk("PLTE", rgbOf(img.Palette))
}

// note writes a text: five empty fields stand for its terminator, no
// compression (2), language and translated keyword.
func (c *chunkWriter) note(n note) {
	c.chunk("iTXt", append(append([]byte(n.keyword), 0, 0, 0, 0, 0), n.text...))
}

func rgbOf(colours color.Palette) []byte {
	var out []byte
	for _, c := range colours {
		r, g, b, _ := c.RGBA()
		out = append(out, byte(r>>8), byte(g>>8), byte(b>>8))
	}
	return out
}

// packIndexes compresses rows of indexes, unfiltered.
func packIndexes(img *image.Paletted) ([]byte, error) {
	var packed bytes.Buffer
	z, err := zlib.NewWriterLevel(&packed, zlib.BestSpeed)
	if err != nil {
		return nil, err
	}
	size := img.Rect.Size()
	row := make([]byte, 1+size.X) // the first byte is the filter: none
	for y := range size.Y {
		copy(row[1:], img.Pix[y*img.Stride:][:size.X])
		if _, err := z.Write(row); err != nil {
			return nil, err
		}
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return packed.Bytes(), nil
}
