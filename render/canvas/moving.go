package canvas

import (
	"bytes"
	"compress/lzw"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"io"
	"time"

	"calotte/topo/provenance"
)

// A MovingFormat is a kind of file that moves.
type MovingFormat int

const (
	GIF  MovingFormat = iota
	APNG              // animated PNG (W3C, third edition)
)

// A Movie writes frames of one size and palette into one file that loops for
// ever and holds its last frame. Frames are packed one by one, several at a
// time if wanted, and added in their order, so that none stays in memory.
type Movie struct {
	w        io.Writer
	format   MovingFormat
	frames   int
	delay    time.Duration // of a frame
	hold     time.Duration // of the last
	done     int
	sequence uint32
	chunks   chunkWriter
}

// NewMovie begins a file of a number of frames. What it says of itself is that
// of the still, whose image gives size and palette. Delays are rounded to
// hundredths of a second in GIF, and to milliseconds in APNG.
func NewMovie(w io.Writer, format MovingFormat, first Still, p provenance.Record, frames int,
	delay, hold time.Duration) (*Movie, error) {
	if frames < 1 || delay <= 0 || hold <= 0 {
		return nil, fmt.Errorf("a film of %d frames, %v each and %v the last: expected more than none", frames,
			delay,
			hold)
	}
	o, err := newOrigin(p)
	if err != nil {
		return nil, err
	}
	m := &Movie{w: w, format: format, frames: frames, delay: delay, hold: hold, chunks: chunkWriter{w: w}}
	if format == APNG {
		m.chunks.begin(first.Image, first.Resolution)
		for _, n := range first.notes(o) {
			m.chunks.note(n)
		}
		control := binary.BigEndian.AppendUint32(nil, uint32(frames))
		m.chunks.chunk("acTL", binary.BigEndian.AppendUint32(control, 0)) // for ever
		return m, m.chunks.err
	}
	_, err = w.Write(gifHead(first, o))
	return m, err
}

// Pack compresses a frame for Add. It may be called from several goroutines.
func (m *Movie) Pack(img *image.Paletted) ([]byte, error) {
	if m.format == APNG {
		return packIndexes(img)
	}
	var packed bytes.Buffer
	z := lzw.NewWriter(&packed, lzw.LSB, 8)
	if _, err := z.Write(img.Pix); err != nil {
		return nil, err
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return packed.Bytes(), nil
}

// Add writes the next frame, of a size.
func (m *Movie) Add(size image.Point, packed []byte) error {
	if m.done == m.frames {
		return fmt.Errorf("a film of %d frames has them all", m.frames)
	}
	delay := m.delay
	if m.done++; m.done == m.frames {
		delay = m.hold
	}
	if m.format == APNG {
		return m.addPNG(size, packed, delay)
	}
	return m.addGIF(size, packed, delay)
}

// Close ends the file.
func (m *Movie) Close() error {
	if m.done != m.frames {
		return fmt.Errorf("a film of %d frames has only %d", m.frames, m.done)
	}
	if m.format == APNG {
		m.chunks.chunk("IEND", nil)
		return m.chunks.err
	}
	_, err := m.w.Write([]byte{0x3b})
	return err
}

func (m *Movie) next() []byte {
	m.sequence++
	return binary.BigEndian.AppendUint32(nil, m.sequence-1)
}

func (m *Movie) addPNG(size image.Point, packed []byte, delay time.Duration) error {
	control := m.next()
	for _, v := range []int{size.X, size.Y, 0, 0} {
		control = binary.BigEndian.AppendUint32(control, uint32(v))
	}
	control = binary.BigEndian.AppendUint16(control, uint16(min(delay.Milliseconds(), 65535)))
	control = binary.BigEndian.AppendUint16(control, 1000)
	m.chunks.chunk("fcTL", append(control, 0, 0)) // leave it there, write over it
	if m.done == 1 {
		m.chunks.chunk("IDAT", packed)
	} else {
		m.chunks.chunk("fdAT", append(m.next(), packed...))
	}
	return m.chunks.err
}

// gifHead is what stands before the frames (GIF89a): size, palette, the wish to
// loop, and the provenance as a comment.
func gifHead(first Still, o origin) []byte {
	size := first.Image.Rect.Size()
	b := []byte("GIF89a")
	b = binary.LittleEndian.AppendUint16(b, uint16(size.X))
	b = binary.LittleEndian.AppendUint16(b, uint16(size.Y))
	b = append(b, 0xf7, 0, 0) // 256 colours for all frames
	colours := rgbOf(first.Image.Palette)
	b = append(b, append(colours, make([]byte, 768-len(colours))...)...)
	b = append(b, 0x21, 0xff, 11)
	b = append(b, "NETSCAPE2.0"...)
	b = append(b, 3, 1, 0, 0, 0)
	for _, text := range []string{first.Title + ". " + first.Description, string(gifMark) + string(o.record)} {
		b = append(b, 0x21, 0xfe)
		b = appendBlocks(b, []byte(text))
	}
	return b
}

// gifMark begins the comment that holds the provenance.
var gifMark = []byte(provenanceKeyword + ": ")

func (m *Movie) addGIF(size image.Point, packed []byte, delay time.Duration) error {
	b := []byte{0x21, 0xf9, 4, 1 << 2} // leave it there
	b = binary.LittleEndian.AppendUint16(b, uint16(min(delay.Round(10*time.Millisecond).Milliseconds()/10, 65535)))
	b = append(b, 0, 0, 0x2c, 0, 0, 0, 0)
	b = binary.LittleEndian.AppendUint16(b, uint16(size.X))
	b = binary.LittleEndian.AppendUint16(b, uint16(size.Y))
	b = append(b, 0, 8) // codes for eight bits
	_, err := m.w.Write(appendBlocks(b, packed))
	return err
}

// appendBlocks cuts data into blocks of up to 255 bytes, each after its length.
func appendBlocks(b, data []byte) []byte {
	for len(data) > 0 {
		n := min(len(data), 255)
		b = append(append(b, byte(n)), data[:n]...)
		data = data[n:]
	}
	return append(b, 0)
}

// gifRecord finds the provenance among the comments before the first frame.
func gifRecord(r io.ReaderAt) ([]byte, error) {
	at := int64(6 + 7 + 768)
	for range mostBefore {
		var head [3]byte
		if err := gifRead(r, head[:2], at); err != nil {
			return nil, err
		}
		if head[0] != 0x21 || head[1] == 0xf9 {
			return nil, fmt.Errorf("GIF: %w", ErrNoProvenance)
		}
		data, next, err := gifBlocks(r, at+2, mostProvenance+int64(len(gifMark)))
		if err != nil {
			return nil, err
		}
		if record, ok := bytes.CutPrefix(data, gifMark); ok && head[1] == 0xfe {
			return record, nil
		}
		at = next
	}
	return nil, fmt.Errorf("GIF: none of %d blocks is a frame or says where it comes from: %w", mostBefore,
		ErrNoProvenance)
}

// gifRead fills a buffer; a file that ends before is cut off.
func gifRead(r io.ReaderAt, into []byte, at int64) error {
	n, err := r.ReadAt(into, at)
	switch {
	case n == len(into):
		return nil
	case errors.Is(err, io.EOF):
		return fmt.Errorf("GIF at byte %d: the file is cut off: copy it again", at)
	}
	return fmt.Errorf("GIF at byte %d: %w", at, err)
}

// mostFrame is how many bytes of a frame are read: no frame of 2000 pixels a
// condition has as many pixels.
const mostFrame = 1 << 27

// gifBlocks joins blocks.
func gifBlocks(r io.ReaderAt, at, most int64) (data []byte, next int64, err error) {
	for {
		var length [1]byte
		if err := gifRead(r, length[:], at); err != nil {
			return nil, 0, err
		}
		n := int(length[0])
		if n == 0 {
			return data, at + 1, nil
		}
		if int64(len(data)+n) > most {
			return nil, 0, fmt.Errorf("GIF block at byte %d is larger than %d bytes", at, most)
		}
		block := make([]byte, n)
		if err := gifRead(r, block, at+1); err != nil {
			return nil, 0, err
		}
		data, at = append(data, block...), at+1+int64(n)
	}
}
