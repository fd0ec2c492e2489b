package epochs

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
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

const (
	fixedBytes  = 8       // the magic text and two bytes of version
	longestDict = 1 << 16 // bytes of the dictionary; NumPy writes some hundred
)

// readHeader reads the header of an array: its type and shape. The dictionary
// is looked through before it goes to package npy, which trusts it.
func readHeader(r io.Reader) (npy.Header, error) {
	var h npy.Header
	fixed := make([]byte, fixedBytes)
	if _, err := io.ReadFull(r, fixed); err != nil || !bytes.Equal(fixed[:len(npy.Magic)], npy.Magic[:]) {
		return h, orReadError(err,
			fmt.Errorf("no NumPy array: the file begins with %q; expected a .npy file", fixed))
	}
	size := make([]byte, 2)
	switch major := fixed[6]; major {
	case 1:
	case 2:
		size = make([]byte, 4)
	default:
		return h, fmt.Errorf("version %d.%d of the NumPy format: expected 1.0 or 2.0", major, fixed[7])
	}
	if _, err := io.ReadFull(r, size); err != nil {
		return h, cut("the header", err)
	}
	length := binary.LittleEndian.Uint32(append(bytes.Clone(size), 0, 0)[:4])
	if length > longestDict {
		return h, fmt.Errorf("a header of %d bytes: expected at most %d", length, longestDict)
	}
	dict := make([]byte, length)
	if _, err := io.ReadFull(r, dict); err != nil {
		return h, cut("the header", err)
	}
	if !wellFormed(string(dict)) {
		return h, fmt.Errorf("header %.200q: expected descr, fortran_order and shape as NumPy writes them",
			dict)
	}
	reader, err := npy.NewReader(bytes.NewReader(bytes.Join([][]byte{fixed, size, dict}, nil)))
	if err != nil {
		return h, fmt.Errorf("header %.200q: %w", dict, err)
	}
	return reader.Header, nil
}

// wellFormed reports whether a dictionary is written as NumPy does:
//
//	{'descr': '<f4', 'fortran_order': False, 'shape': (40, 64, 512), }
func wellFormed(dict string) bool {
	if !strings.HasSuffix(dict, "\n") {
		return false
	}
	rest, ok := strings.CutPrefix(dict, "{'descr': '")
	descr, rest, ok2 := strings.Cut(rest, "', 'fortran_order': ")
	order, rest, ok3 := strings.Cut(rest, ", 'shape': (")
	shape, rest, ok4 := strings.Cut(rest, "), }")
	return ok && ok2 && ok3 && ok4 && strings.TrimSpace(rest) == "" &&
		!strings.ContainsAny(descr, "'{}") && (order == "True" || order == "False") &&
		strings.Trim(shape, "0123456789, ") == ""
}

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

// cut names a file's end as what it is.
func cut(where string, err error) error {
	if err == io.EOF || err == io.ErrUnexpectedEOF {
		return fmt.Errorf("the file ends within %s: it is cut short", where)
	}
	return err
}

// orReadError returns a reader's own error where there is one, and else the
// fault of the file.
func orReadError(err, fault error) error {
	if err == nil || err == io.EOF || err == io.ErrUnexpectedEOF {
		return fault
	}
	return err
}
