package canvas

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"io"
	"math"
)

// Tags of TIFF 6.0 in the order they are written. The last is of the range that
// the standard leaves to private use.
const (
	tagWidth        = 256
	tagHeight       = 257
	tagBits         = 258
	tagCompression  = 259
	tagPhotometric  = 262
	tagDocument     = 269
	tagDescription  = 270
	tagStrips       = 273
	tagSamples      = 277
	tagRowsPerStrip = 278
	tagStripBytes   = 279
	tagXResolution  = 282
	tagYResolution  = 283
	tagUnit         = 296
	tagSoftware     = 305
	tagPredictor    = 317
	tagProvenance   = 65000
)

// Types of a field's values.
const (
	typeASCII    = 2
	typeShort    = 3
	typeLong     = 4
	typeRational = 5
)

// tiffSignature is that of the byte order written.
const tiffSignature = "II*\x00"

type tiffField struct {
	tag, kind uint16
	count     int
	data      []byte
}

// stripBytes is about how large an uncompressed strip is.
const stripBytes = 1 << 16

// encodeTIFF writes an opaque image as RGB, in strips of rows that are
// compressed by LZW after the difference from the pixel to the left is taken.
// Resolution is in dots per inch. Texts are UTF-8, which is ASCII where they
// are.
func encodeTIFF(w io.Writer, img *image.RGBA, resolution float64, title, description string, o origin) error {
	size := img.Bounds().Size()
	rows := max(1, stripBytes/(3*size.X))
	out := append([]byte(tiffSignature), 0, 0, 0, 0) // the directory's place comes here
	var offsets, lengths []byte
	for y := 0; y < size.Y; y += rows {
		strip := packLZW(differences(img, y, min(y+rows, size.Y)))
		offsets = binary.LittleEndian.AppendUint32(offsets, uint32(len(out)))
		lengths = binary.LittleEndian.AppendUint32(lengths, uint32(len(strip)))
		out = append(out, strip...)
	}
	short := func(tag uint16, values ...uint16) tiffField {
		f := tiffField{tag: tag, kind: typeShort, count: len(values)}
		for _, v := range values {
			f.data = binary.LittleEndian.AppendUint16(f.data, v)
		}
		return f
	}
	long := func(tag uint16, values []byte) tiffField {
		return tiffField{tag: tag, kind: typeLong, count: len(values) / 4, data: values}
	}
	number := func(n int) []byte { return binary.LittleEndian.AppendUint32(nil, uint32(n)) }
	text := func(tag uint16, s string) tiffField {
		return tiffField{tag: tag, kind: typeASCII, count: len(s) + 1, data: append([]byte(s), 0)}
	}
	dots := append(number(int(math.Round(resolution*100))), number(100)...)
	rational := func(tag uint16) tiffField { return tiffField{tag: tag, kind: typeRational, count: 1, data: dots} }
	fields := []tiffField{
		long(tagWidth, number(size.X)), long(tagHeight, number(size.Y)),
		short(tagBits, 8, 8, 8), short(tagCompression, 5), short(tagPhotometric, 2),
		text(tagDocument, title), text(tagDescription, description),
		long(tagStrips, offsets), short(tagSamples, 3), long(tagRowsPerStrip, number(rows)),
		long(tagStripBytes, lengths),
		rational(tagXResolution), rational(tagYResolution), short(tagUnit, 2),
		text(tagSoftware, o.software), short(tagPredictor, 2), text(tagProvenance, string(o.record)),
	}
	_, err := w.Write(appendDirectory(out, fields))
	return err
}

// appendDirectory writes the fields' values and then the directory that points
// at them.
func appendDirectory(out []byte, fields []tiffField) []byte {
	var directory []byte
	for _, f := range fields {
		directory = binary.LittleEndian.AppendUint16(directory, f.tag)
		directory = binary.LittleEndian.AppendUint16(directory, f.kind)
		directory = binary.LittleEndian.AppendUint32(directory, uint32(f.count))
		if len(f.data) <= 4 {
			directory = append(directory, append(f.data, make([]byte, 4-len(f.data))...)...)
			continue
		}
		if len(out)%2 > 0 {
			out = append(out, 0)
		}
		directory = binary.LittleEndian.AppendUint32(directory, uint32(len(out)))
		out = append(out, f.data...)
	}
	if len(out)%2 > 0 {
		out = append(out, 0)
	}
	binary.LittleEndian.PutUint32(out[4:], uint32(len(out)))
	out = binary.LittleEndian.AppendUint16(out, uint16(len(fields)))
	out = append(out, directory...)
	return append(out, 0, 0, 0, 0) // no other image
}

// differences are rows of RGB, each pixel less the one to its left.
func differences(img *image.RGBA, from, to int) []byte {
	b := img.Bounds()
	out := make([]byte, 0, 3*b.Dx()*(to-from))
	for y := from; y < to; y++ {
		row := img.Pix[img.PixOffset(b.Min.X, b.Min.Y+y):][:4*b.Dx()]
		var left [3]byte
		for ; len(row) >= 4; row = row[4:] {
			for k := range left {
				out = append(out, row[k]-left[k])
				left[k] = row[k]
			}
		}
	}
	return out
}

// tiffRecord finds the provenance of a file that encodeTIFF wrote.
func tiffRecord(r io.ReaderAt, size int64) ([]byte, error) {
	return tiffText(r, size, tagProvenance, "provenance")
}

// tiffText finds a text in the directory of a file that encodeTIFF wrote. What
// is its name in errors.
func tiffText(r io.ReaderAt, size int64, tag uint16, what string) ([]byte, error) {
	read := func(at, n int64) ([]byte, error) {
		if at < 0 || n > size-at {
			return nil, fmt.Errorf("TIFF of %d bytes points to byte %d: it is cut off", size, at+n)
		}
		b := make([]byte, n)
		if _, err := r.ReadAt(b, at); err != nil {
			return nil, fmt.Errorf("TIFF at byte %d: %w", at, err)
		}
		return b, nil
	}
	head, err := read(4, 4)
	if err != nil {
		return nil, err
	}
	at := int64(binary.LittleEndian.Uint32(head))
	count, err := read(at, 2)
	if err != nil {
		return nil, err
	}
	n := int64(binary.LittleEndian.Uint16(count))
	directory, err := read(at+2, 12*n+4) // the last four end it
	if err != nil {
		return nil, err
	}
	for ; len(directory) > 4; directory = directory[12:] {
		if binary.LittleEndian.Uint16(directory) != tag {
			continue
		}
		length := int64(binary.LittleEndian.Uint32(directory[4:]))
		if kind := binary.LittleEndian.Uint16(directory[2:]); kind != typeASCII || length < 1 ||
			length > mostProvenance {
			return nil, fmt.Errorf("TIFF %s of type %d with %d bytes: expected a text of at most %d", what,
				kind,
				length, mostProvenance)
		}
		if length <= 4 { // it stands in the place of its place
			return bytes.Clone(directory[8 : 8+length-1]), nil
		}
		text, err := read(int64(binary.LittleEndian.Uint32(directory[8:])), length)
		if err != nil {
			return nil, err
		}
		return text[:length-1], nil
	}
	return nil, fmt.Errorf("TIFF: %w", ErrNoProvenance)
}
