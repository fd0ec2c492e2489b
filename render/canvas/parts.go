package canvas

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"image"
	"image/gif"
	"image/png"
	"io"
	"iter"

	"golang.org/x/image/tiff"
)

// A Part is a piece of a file of dots, in the order of the file: a picture, or
// what is said about pictures.
type Part struct {
	Kind string // such as the type of a PNG's chunk
	Data []byte // as it stands in the file; of a picture compressed
	Size image.Point
	// Picture unpacks the picture of a size, and is nil where the part is
	// none.
	Picture func() (image.Image, error)
}

// Provenance is the record that the part holds, nil where it holds none.
func (p Part) Provenance() []byte {
	for _, lead := range []struct{ kind, text string }{{"iTXt", pngLead}, {"comment", string(gifMark)},
		{"provenance", ""}} {
		if record, ok := bytes.CutPrefix(p.Data, []byte(lead.text)); ok && p.Kind == lead.kind {
			return record
		}
	}
	return nil
}

// Parts takes a PNG, APNG, GIF or TIFF apart, as this package writes them:
// palettes are global, frames are whole. The file may be anyone's: no more is
// kept than a part, and no picture is unpacked unless asked for.
func Parts(r io.ReaderAt, size int64) iter.Seq2[Part, error] {
	return func(yield func(Part, error) bool) {
		head := make([]byte, 8)
		if _, err := r.ReadAt(head, 0); err != nil {
			yield(Part{}, fmt.Errorf("read the picture: %w", err))
			return
		}
		var err error
		switch {
		case bytes.HasPrefix(head, []byte(pngSignature)):
			err = pngParts(r, size, yield)
		case bytes.HasPrefix(head, []byte("GIF89a")):
			err = gifParts(r, yield)
		case bytes.HasPrefix(head, []byte(tiffSignature)):
			err = tiffParts(r, size, yield)
		default:
			err = errors.New("not a picture: a PNG, GIF or TIFF file was expected")
		}
		if err != nil {
			yield(Part{}, err)
		}
	}
}

// pngParts yields chunks. Those of a picture come with what makes them a file
// of one.
func pngParts(r io.ReaderAt, size int64, yield func(Part, error) bool) error {
	var lead bytes.Buffer // signature, size and palette
	lead.WriteString(pngSignature)
	var dots image.Point
	for at := int64(len(pngSignature)); at < size; {
		var head [8]byte
		if _, err := r.ReadAt(head[:], at); err != nil {
			return fmt.Errorf("PNG chunk at byte %d: %w", at, err)
		}
		p := Part{Kind: string(head[4:])}
		length := int64(binary.BigEndian.Uint32(head[:]))
		if at+12+length > size {
			return fmt.Errorf("PNG chunk at byte %d has %d bytes, the file only %d more: it is cut off", at,
				length,
				size-at-12)
		}
		chunk := make([]byte, length+4)
		if _, err := r.ReadAt(chunk, at+8); err != nil {
			return fmt.Errorf("PNG chunk at byte %d: %w", at, err)
		}
		p.Data = chunk[:length]
		if sum := crc32.Update(crc32.ChecksumIEEE(head[4:]), crc32.IEEETable,
			p.Data); sum != binary.BigEndian.Uint32(chunk[length:]) {
			return fmt.Errorf("PNG chunk at byte %d is damaged: its checksum differs", at)
		}
		switch p.Kind {
		case "IHDR", "PLTE":
			(&chunkWriter{w: &lead}).chunk(p.Kind, p.Data)
			if p.Kind == "IHDR" && length == 13 {
				dots = image.Pt(int(binary.BigEndian.Uint32(p.Data)),
					int(binary.BigEndian.Uint32(p.Data[4:])))
			}
		case "IDAT", "fdAT":
			data := p.Data
			if p.Kind == "fdAT" && length >= 4 {
				data = data[4:] // its number
			}
			p.Size, p.Picture = dots, func() (image.Image, error) { return stillPNG(lead.Bytes(), data) }
		}
		if !yield(p, nil) {
			return nil
		}
		at += 12 + length
	}
	return nil
}

func stillPNG(lead, data []byte) (image.Image, error) {
	file := bytes.NewBuffer(bytes.Clone(lead))
	c := chunkWriter{w: file}
	c.chunk("IDAT", data)
	c.chunk("IEND", nil)
	return png.Decode(file)
}

// gifParts yields extensions and frames.
func gifParts(r io.ReaderAt, yield func(Part, error) bool) error {
	lead := make([]byte, 6+7+768)
	if err := gifRead(r, lead, 0); err != nil {
		return err
	}
	if lead[10] != 0xf7 {
		return fmt.Errorf("GIF: expected a palette of 256 colours for all frames")
	}
	dots := image.Pt(int(binary.LittleEndian.Uint16(lead[6:])), int(binary.LittleEndian.Uint16(lead[8:])))
	if !yield(Part{Kind: "head", Data: lead}, nil) {
		return nil
	}
	for at := int64(len(lead)); ; {
		var mark [2]byte
		if err := gifRead(r, mark[:1], at); err != nil {
			return err
		}
		var p Part
		var data []byte
		var err error
		switch mark[0] {
		case 0x3b:
			return nil
		case 0x21:
			if err := gifRead(r, mark[1:], at+1); err != nil {
				return err
			}
			p.Kind = map[byte]string{0xf9: "control", 0xfe: "comment", 0xff: "application"}[mark[1]]
			if p.Data, at, err = gifBlocks(r, at+2, mostProvenance+int64(len(gifMark))); err != nil {
				return err
			}
		case 0x2c:
			frame := make([]byte, 11) // the mark, the place, flags; how wide codes are
			if err := gifRead(r, frame, at); err != nil {
				return err
			}
			if place := image.Rect(0, 0, dots.X,
				dots.Y); int(binary.LittleEndian.Uint16(frame[5:])) != place.Dx() ||
				int(binary.LittleEndian.Uint16(frame[7:])) != place.Dy() || frame[9] != 0 {
				return fmt.Errorf("GIF frame at byte %d: expected one as large as the film, in "+
					"its colours",
					at)
			}
			if data, at, err = gifBlocks(r, at+11, mostFrame); err != nil {
				return err
			}
			p = Part{Kind: "frame", Data: data, Size: dots}
			p.Picture = func() (image.Image, error) {
				file := append(bytes.Clone(lead), frame...)
				return gif.Decode(bytes.NewReader(append(appendBlocks(file, data), 0x3b)))
			}
		default:
			return fmt.Errorf("GIF at byte %d: %#x is no block", at, mark[0])
		}
		if !yield(p, nil) {
			return nil
		}
	}
}

func tiffParts(r io.ReaderAt, size int64, yield func(Part, error) bool) error {
	for _, text := range []struct {
		kind string
		tag  uint16
	}{{"title", tagDocument}, {"description", tagDescription}, {"software", tagSoftware},
		{"provenance", tagProvenance}} {
		data, err := tiffText(r, size, text.tag, text.kind)
		if err != nil {
			return err
		}
		if !yield(Part{Kind: text.kind, Data: data}, nil) {
			return nil
		}
	}
	config, err := tiff.DecodeConfig(io.NewSectionReader(r, 0, size))
	if err != nil {
		return fmt.Errorf("TIFF: %w", err)
	}
	yield(Part{Kind: "picture", Size: image.Pt(config.Width, config.Height), Picture: func() (image.Image, error) {
		return tiff.Decode(io.NewSectionReader(r, 0, size))
	}}, nil)
	return nil
}
