package array

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"strings"

	"codeberg.org/sbinet/npyio/npy"

	"calotte/topo/recording"
)

const (
	fixedBytes  = 8       // the magic text and two bytes of version
	longestDict = 1 << 16 // bytes of the dictionary; NumPy writes some hundred
)

var numpyMagic = npy.Magic[:]

// NumPyHeader reads the header of an array, its type and shape, and returns how
// many bytes it has. The dictionary is looked through before it goes to package
// npy, which trusts it.
func NumPyHeader(r io.Reader) (h npy.Header, length int, err error) {
	fixed := make([]byte, fixedBytes)
	if _, err := io.ReadFull(r, fixed); err != nil || !bytes.Equal(fixed[:len(numpyMagic)], numpyMagic) {
		return h, 0, orReadError(err,
			fmt.Errorf("no NumPy array: the file begins with %q; expected a .npy file", fixed))
	}
	size := make([]byte, 2)
	switch major := fixed[6]; major {
	case 1:
	case 2:
		size = make([]byte, 4)
	default:
		return h, 0, fmt.Errorf("version %d.%d of the NumPy format: expected 1.0 or 2.0", major, fixed[7])
	}
	if _, err := io.ReadFull(r, size); err != nil {
		return h, 0, CutShort("the header", err)
	}
	bytesOfDict := binary.LittleEndian.Uint32(append(bytes.Clone(size), 0, 0)[:4])
	if bytesOfDict > longestDict {
		return h, 0, fmt.Errorf("a header of %d bytes: expected at most %d", bytesOfDict, longestDict)
	}
	dict := make([]byte, bytesOfDict)
	if _, err := io.ReadFull(r, dict); err != nil {
		return h, 0, CutShort("the header", err)
	}
	if !wellFormed(string(dict)) {
		return h, 0, fmt.Errorf("header %.200q: expected descr, fortran_order and shape as NumPy writes them",
			dict)
	}
	whole := bytes.Join([][]byte{fixed, size, dict}, nil)
	reader, err := npy.NewReader(bytes.NewReader(whole))
	if err != nil {
		return h, 0, fmt.Errorf("header %.200q: %w", dict, err)
	}
	return reader.Header, len(whole), nil
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

// openNumPy opens an array of numbers of any type and order.
func openNumPy(r io.ReaderAt, size int64) (*Array, error) {
	h, begin, err := NumPyHeader(io.NewSectionReader(r, 0, size))
	if err != nil {
		return nil, err
	}
	descr := strings.Trim(h.Descr.Type, "'")
	kind, known := forms[strings.TrimLeft(descr, "<>|")]
	if !known || len(descr) != 3 {
		return nil, fmt.Errorf("values of type %q: expected real numbers, such as astype('<f4')", descr)
	}
	total, ok := count(h.Descr.Shape, math.MaxInt64/8)
	if !ok || len(h.Descr.Shape) == 0 {
		return nil, fmt.Errorf("an array of shape %q: expected axes of at least one, and fewer values than a "+
			"file can hold", shapeText(h.Descr.Shape))
	}
	switch there := (size - int64(begin)) / int64(kind.width); {
	case there < total:
		return nil, fmt.Errorf("the file ends after %d of the %d values that its header says (%s): it is cut "+
			"short", there, total, shapeText(h.Descr.Shape))
	case size-int64(begin) != total*int64(kind.width):
		return nil, fmt.Errorf("the file goes on after the %d values that its header says (%s): it is no "+
			"single array", total, shapeText(h.Descr.Shape))
	}
	a := &Array{Kind: recording.NumPy, Shape: h.Descr.Shape, strides: rowMajor(h.Descr.Shape)}
	if h.Descr.Fortran {
		a.strides = columnMajor(a.Shape)
	}
	s := stored{r, int64(begin), kind, binary.LittleEndian}
	if descr[0] == '>' {
		s.order = binary.BigEndian
	}
	a.numbers = s
	return a, nil
}

// CutShort names a file's end within a part of it as what it is.
func CutShort(where string, err error) error {
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
