package array

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
)

// A form is how numbers lie in a file.
type form struct {
	width  int // bytes of a value
	decode func(b []byte, order binary.ByteOrder) float64
}

// The forms, by a letter for the sort of number and its bytes, as NumPy names
// them.
var forms = map[string]form{
	"f4": {4, func(b []byte, o binary.ByteOrder) float64 { return float64(math.Float32frombits(o.Uint32(b))) }},
	"f8": {8, func(b []byte, o binary.ByteOrder) float64 { return math.Float64frombits(o.Uint64(b)) }},
	"i1": {1, func(b []byte, _ binary.ByteOrder) float64 { return float64(int8(b[0])) }},
	"i2": {2, func(b []byte, o binary.ByteOrder) float64 { return float64(int16(o.Uint16(b))) }},
	"i4": {4, func(b []byte, o binary.ByteOrder) float64 { return float64(int32(o.Uint32(b))) }},
	"i8": {8, func(b []byte, o binary.ByteOrder) float64 { return float64(int64(o.Uint64(b))) }},
	"u1": {1, func(b []byte, _ binary.ByteOrder) float64 { return float64(b[0]) }},
	"u2": {2, func(b []byte, o binary.ByteOrder) float64 { return float64(o.Uint16(b)) }},
	"u4": {4, func(b []byte, o binary.ByteOrder) float64 { return float64(o.Uint32(b)) }},
	"u8": {8, func(b []byte, o binary.ByteOrder) float64 { return float64(o.Uint64(b)) }},
}

// stored numbers lie in a file, or in what was unpacked of one.
type stored struct {
	r      io.ReaderAt
	offset int64
	form   form
	order  binary.ByteOrder
}

// slabBytes bounds what is read at once.
const slabBytes = 256 << 10

func (s stored) slab(dst []float64, first int) error {
	width := s.form.width
	raw := make([]byte, min(len(dst)*width, slabBytes))
	for len(dst) > 0 {
		n := min(len(dst), len(raw)/width)
		at := s.offset + int64(first)*int64(width)
		if got, err := s.r.ReadAt(raw[:n*width], at); got < n*width {
			return fmt.Errorf("reading bytes %d to %d: %w", at, at+int64(n*width), shortened(err))
		}
		for i := range n {
			dst[i] = s.form.decode(raw[i*width:], s.order)
		}
		dst, first = dst[n:], first+n
	}
	return nil
}

// shortened is the error of a read that came to an end too early.
func shortened(err error) error {
	if err == nil || err == io.EOF {
		return io.ErrUnexpectedEOF
	}
	return err
}

// parsed numbers were read from text.
type parsed []float64

func (p parsed) slab(dst []float64, first int) error {
	copy(dst, p[first:])
	return nil
}
