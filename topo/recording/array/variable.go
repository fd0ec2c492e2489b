package array

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"strings"
)

// A variable is what a matrix says of itself before its numbers.
type variable struct {
	name    string
	class   byte
	complex bool
	shape   []int
	form    form
	begin   int64 // of the numbers, in bytes from the matrix's own data
	bytes   int64 // of the numbers
	place   place
	fault   error // in what stands before the numbers
}

// Classes of a matrix by their numbers, from memory of the description; empty:
// numbers.
var classes = map[byte]string{
	1: "a cell array", 2: "a structure", 3: "an object", 4: "text", 5: "a sparse matrix",
	6: "", 7: "", 8: "", 9: "", 10: "", 11: "", 12: "", 13: "", 14: "", 15: "",
	16: "a function", 17: "an object",
}

// Forms of numbers by the types of their elements.
var elementForms = map[uint32]string{1: "i1", 2: "u1", 3: "i2", 4: "u2", 5: "i4", 6: "u4", 7: "f4", 9: "f8", 12: "i8",
	13: "u8"}

const (
	complexFlag  = 0x08
	mostAxes     = 16
	longestName  = 4096
	tagBytes     = 8
	flagsBytes   = 8
	elementInt32 = 5
	elementUint  = 6
)

// axes is how many axes are longer than 1.
func (v variable) axes() int {
	n := 0
	for _, length := range v.shape {
		if length > 1 {
			n++
		}
	}
	return n
}

// String says what the variable is: "64 × 10000", or "a structure".
func (v variable) String() string {
	switch {
	case classes[v.class] != "":
		return classes[v.class]
	case v.complex:
		return "complex numbers"
	case v.fault != nil:
		return "damaged"
	}
	return shapeText(v.shape)
}

// usable refuses what is no array of real numbers.
func (v variable) usable() error {
	const want = ": expected real numbers, sites and samples; save the array itself"
	switch what, known := classes[v.class]; {
	case !known:
		return fmt.Errorf("its class is %d: expected 6 to 15, numbers; the file is damaged", v.class)
	case what != "":
		return errors.New("this is " + what + want)
	case v.complex:
		return errors.New("its numbers are complex" + want)
	}
	return v.fault
}

// readVariable reads a matrix of so many bytes up to its numbers. What is wrong
// with one that is no array of real numbers, or with its sizes, is kept for who
// chooses it: others in the file may be right.
func readVariable(r io.Reader, order binary.ByteOrder, length int64) (v variable, err error) {
	c := &counted{r: r, order: order, left: length}
	kind, flags, err := c.element(flagsBytes)
	if err != nil {
		return v, err
	}
	if kind != elementUint || len(flags) != flagsBytes {
		return v, errors.New("it does not begin with the flags of a matrix: the file is damaged")
	}
	word := order.Uint32(flags)
	v.class, v.complex = byte(word), byte(word>>8)&complexFlag != 0
	if v.class == 17 {
		return v, nil // an object of this class has no sizes
	}
	kind, sizes, err := c.element(4 * mostAxes)
	if err != nil {
		return v, err
	}
	if kind != elementInt32 || len(sizes) < 8 || len(sizes)%4 != 0 {
		return v, errors.New("its sizes are not those of two axes or more: the file is damaged")
	}
	for ; len(sizes) > 0; sizes = sizes[4:] {
		v.shape = append(v.shape, int(int32(order.Uint32(sizes))))
	}
	_, name, err := c.element(longestName)
	if err != nil {
		return v, err
	}
	v.name = strings.TrimRight(string(name), "\x00")
	if v.usable() == nil {
		v.fault = v.findNumbers(c)
	}
	return v, nil
}

// findNumbers reads the tag of the numbers and compares their length with the
// sizes of the axes.
func (v *variable) findNumbers(c *counted) error {
	total, ok := count(v.shape, 1<<32)
	if !ok {
		return fmt.Errorf("its sizes are %s: expected axes of at least one, and fewer than 2³² numbers",
			shapeText(v.shape))
	}
	kind, length, _, err := c.tag()
	if err != nil {
		return err
	}
	f, known := forms[elementForms[kind]]
	if !known {
		return fmt.Errorf("its numbers are of type %d: expected whole or floating point numbers; the file is "+
			"damaged", kind)
	}
	if length != total*int64(f.width) {
		return fmt.Errorf("its sizes are %s, and it holds %d bytes of numbers: expected %d; the file is damaged",
			shapeText(v.shape), length, total*int64(f.width))
	}
	if length > c.left {
		return fmt.Errorf("its numbers say %d bytes, and it has %d more: the file is damaged", length, c.left)
	}
	v.form, v.begin, v.bytes = f, c.read, length
	return nil
}

// counted reads the elements within a matrix.
type counted struct {
	r     io.Reader
	order binary.ByteOrder
	read  int64
	left  int64 // as the matrix says
}

func (c *counted) take(b []byte) error {
	if int64(len(b)) > c.left {
		return errors.New("its parts are longer than the whole: the file is damaged")
	}
	if _, err := io.ReadFull(c.r, b); err != nil {
		return damaged(err)
	}
	c.read, c.left = c.read+int64(len(b)), c.left-int64(len(b))
	return nil
}

// tag reads the type and the length of an element. A short one has its data in
// the second half of the tag, of which pad bytes are none of it.
func (c *counted) tag() (kind uint32, length, pad int64, err error) {
	b := make([]byte, tagBytes/2)
	if err := c.take(b); err != nil {
		return 0, 0, 0, err
	}
	word := c.order.Uint32(b)
	if short := int64(word >> 16); short > 0 {
		if short > 4 {
			return 0, 0, 0, fmt.Errorf("a short element of %d bytes: expected at most 4; the "+
				"file is damaged",
				short)
		}
		return word & 0xffff, short, 4 - short, nil
	}
	if err := c.take(b); err != nil {
		return 0, 0, 0, err
	}
	length = int64(c.order.Uint32(b))
	return word, length, padding(length), nil
}

// element reads an element of at most so many bytes.
func (c *counted) element(most int64) (kind uint32, data []byte, err error) {
	kind, length, pad, err := c.tag()
	if err != nil {
		return 0, nil, err
	}
	if length > most {
		return 0, nil, fmt.Errorf("an element of %d bytes before its numbers: expected at most %d; the file is "+
			"damaged", length, most)
	}
	data = make([]byte, length+pad)
	if err := c.take(data); err != nil {
		return 0, nil, err
	}
	return kind, data[:length], nil
}
