package epochs

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"strings"

	"codeberg.org/sbinet/npyio/npy"
)

// A Shape is the size of an array.
type Shape struct{ Epochs, Sites, Samples int }

// String writes the shape in the order of the axes: "40 × 64 × 512".
func (s Shape) String() string { return fmt.Sprintf("%d × %d × %d", s.Epochs, s.Sites, s.Samples) }

// check refuses a shape with an empty axis and one too large to be meant.
func (s Shape) check() error {
	if s.Epochs < 1 || s.Sites < 1 || s.Samples < 1 {
		return fmt.Errorf("shape %v: an axis is empty; expected epoch × site × sample", s)
	}
	if s.Sites > mostOfEpoch/s.Samples {
		return fmt.Errorf("shape %v: an epoch of more than %d values; expected epoch × site × sample", s,
			mostOfEpoch)
	}
	if int64(s.Epochs) > math.MaxInt64/8/mostOfEpoch {
		return fmt.Errorf("shape %v: more epochs than a file can hold; expected epoch × site × sample", s)
	}
	return nil
}

// mostOfEpoch bounds the memory that a header can make a Reader take: 345 sites
// with 24 s at 1 kHz.
const mostOfEpoch = 1 << 23

const fixedBytes = 8 // the magic text and two bytes of version

// shapeOf checks that a header describes epochs, and returns their shape and
// the bytes of a value.
func shapeOf(h npy.Header) (s Shape, width int, err error) {
	switch t := h.Descr.Type; t {
	case "'<f4'":
		width = 4
	case "'<f8'":
		width = 8
	default:
		return s, 0, fmt.Errorf("values of type %s: expected '<f4' or '<f8', floating point numbers in little "+
			"endian: astype('<f4')", t)
	}
	if len(h.Descr.Shape) != 3 {
		return s, 0, fmt.Errorf("an array of %d axes: expected 3, epoch × site × sample", len(h.Descr.Shape))
	}
	if h.Descr.Fortran {
		return s, 0, fmt.Errorf("the array is in Fortran order: expected C order: numpy.ascontiguousarray")
	}
	s = Shape{h.Descr.Shape[0], h.Descr.Shape[1], h.Descr.Shape[2]}
	return s, width, s.check()
}

// header returns the header of an array of float32, padded to a multiple of 64
// bytes as NumPy does, and to no fewer than asked for.
func (s Shape) header(fewest int) []byte {
	dict := fmt.Sprintf("{'descr': '<f4', 'fortran_order': False, 'shape': (%d, %d, %d), }", s.Epochs, s.Sites,
		s.Samples)
	const before = fixedBytes + 2
	total := max(fewest, (before+len(dict)+1+63)/64*64)
	b := append(bytes.Clone(npy.Magic[:]), 1, 0)
	b = binary.LittleEndian.AppendUint16(b, uint16(total-before))
	b = append(b, dict...)
	b = append(b, strings.Repeat(" ", total-len(b)-1)...)
	return append(b, '\n')
}
