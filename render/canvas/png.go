package canvas

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"io"
	"math"

	"github.com/klauspost/compress/zlib"
)

const pngSignature = "\x89PNG\r\n\x1a\n"

// A note is a text that a PNG carries; the keyword is Latin, the text any.
type note struct{ keyword, text string }

// encodePNG writes an image as PNG (W3C, third edition): RGB when it is opaque
// throughout, else RGBA. A positive resolution, in dots per inch, goes into
// the pHYs chunk, notes into iTXt chunks before the image data. Rows are
// stored as they are, at the fastest compression: maps are smooth and the
// paper is white, and other filters cost more time than they save bytes.
func encodePNG(w io.Writer, img *image.RGBA, resolution float64, notes []note) error {
	opaque := img.Opaque()
	size := img.Bounds().Size()
	c := chunkWriter{w: w}
	c.write([]byte(pngSignature))
	header := binary.BigEndian.AppendUint32(nil, uint32(size.X))
	header = binary.BigEndian.AppendUint32(header, uint32(size.Y))
	colour := byte(6)
	if opaque {
		colour = 2
	}
	c.chunk("IHDR", append(header, 8, colour, 0, 0, 0))
	if resolution > 0 {
		const inchesPerMetre = 1 / 0.0254
		dots := uint32(math.Round(resolution * inchesPerMetre))
		physical := binary.BigEndian.AppendUint32(nil, dots)
		physical = binary.BigEndian.AppendUint32(physical, dots)
		c.chunk("pHYs", append(physical, 1))
	}
	for _, n := range notes {
		c.note(n)
	}
	data, err := packRows(img, opaque)
	if err != nil {
		return err
	}
	c.chunk("IDAT", data)
	c.chunk("IEND", nil)
	return c.err
}

// A chunkWriter writes PNG chunks and keeps the first error.
type chunkWriter struct {
	w   io.Writer
	err error
}

func (c *chunkWriter) write(b []byte) {
	if c.err == nil {
		_, c.err = c.w.Write(b)
	}
}

func (c *chunkWriter) chunk(kind string, data []byte) {
	head := append(binary.BigEndian.AppendUint32(nil, uint32(len(data))), kind...)
	sum := crc32.Update(crc32.ChecksumIEEE(head[4:]), crc32.IEEETable, data)
	c.write(head)
	c.write(data)
	c.write(binary.BigEndian.AppendUint32(nil, sum))
}

func packRows(img *image.RGBA, opaque bool) ([]byte, error) {
	var packed bytes.Buffer
	z, err := zlib.NewWriterLevel(&packed, zlib.BestSpeed)
	if err != nil {
		return nil, err
	}
	b := img.Bounds()
	row := make([]byte, 1+4*b.Dx()) // the first byte is the filter: none
	for y := b.Min.Y; y < b.Max.Y; y++ {
		pixels := img.Pix[img.PixOffset(b.Min.X, y):][:4*b.Dx()]
		n := 1
		if opaque {
			n += packRGB(row[1:], pixels)
		} else {
			n += packNRGBA(row[1:], pixels)
		}
		if _, err := z.Write(row[:n]); err != nil {
			return nil, err
		}
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return packed.Bytes(), nil
}

// packRGB drops every fourth byte. Each pixel is written as four bytes, of
// which the next one takes the last.
func packRGB(to, from []byte) int {
	n := 0
	for ; len(from) >= 4 && len(to) >= n+4; from = from[4:] {
		binary.LittleEndian.PutUint32(to[n:], binary.LittleEndian.Uint32(from))
		n += 3
	}
	return n
}

// packNRGBA undoes the multiplication of the colours by their alpha.
func packNRGBA(to, from []byte) int {
	copy(to, from)
	for i := 0; i+3 < len(from); i += 4 {
		a := uint32(from[i+3])
		if a == 255 || a == 0 {
			continue
		}
		for j := range 3 {
			to[i+j] = byte(min(255, (uint32(from[i+j])*255+a/2)/a))
		}
	}
	return len(from)
}
