package array

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"

	"calotte/topo/recording"
)

// An Array is the numbers of a file. It may be read from several goroutines if
// the file may.
type Array struct {
	Kind  recording.Kind
	Name  string   // of the variable, in a MATLAB file
	Shape []int    // the lengths of the axes, each at least 1
	Names []string // of a table's columns; nil: its first line is numbers

	strides []int // how many values apart neighbours along each axis lie
	numbers numbers
}

// What has to be said of an array is one of these, as errors.Is finds.
var (
	ErrOrder    = errors.New("the order of the axes")
	ErrSites    = errors.New("the names of the sites")
	ErrVariable = errors.New("the name of the variable")
)

// unsaid is an error that what is said of the array mends.
type unsaid struct {
	text string
	what error
}

func (u *unsaid) Error() string        { return u.text }
func (u *unsaid) Is(target error) bool { return target == u.what }

func sayf(what error, format string, args ...any) error {
	return &unsaid{fmt.Sprintf(format, args...), what}
}

// numbers are values that lie one after the other.
type numbers interface {
	// slab fills dst with the values from first on.
	slab(dst []float64, first int) error
}

// Recognize reports whether a file with these first bytes, of which it needs
// 128, is a NumPy or MATLAB file that Open reads.
func Recognize(start []byte) bool {
	return bytes.HasPrefix(start, numpyMagic) || isLevel5(start)
}

// Open reads what a NumPy or MATLAB file of the given size says of its numbers.
// Of a MATLAB file, it opens the variable of that name, or, where that is
// empty, the only one that is numbers along two axes or more.
func Open(r io.ReaderAt, size int64, variable string) (*Array, error) {
	start := make([]byte, min(size, level5Header))
	if _, err := r.ReadAt(start, 0); err != nil && err != io.EOF {
		return nil, err
	}
	switch {
	case isLevel5(start):
		return openLevel5(r, size, start, variable)
	case bytes.HasPrefix(start, numpyMagic) && variable != "":
		return nil, errors.New("a NumPy file holds one array, which has no name: name no variable")
	case bytes.HasPrefix(start, numpyMagic):
		return openNumPy(r, size)
	}
	return nil, errors.New("neither a NumPy nor a MATLAB file: expected .npy or .mat")
}

// shapeText writes lengths of axes: "64 × 10000".
func shapeText(shape []int) string {
	texts := make([]string, len(shape))
	for i, n := range shape {
		texts[i] = fmt.Sprint(n)
	}
	return strings.Join(texts, " × ")
}

// String is "64 × 10000".
func (a *Array) String() string { return shapeText(a.Shape) }

// count is the number of values, and false where that is none or more than
// most.
func count(shape []int, most int64) (int64, bool) {
	n := int64(1)
	for _, length := range shape {
		if length < 1 || int64(length) > most/n {
			return 0, false
		}
		n *= int64(length)
	}
	return n, true
}

// rowMajor returns the strides of an array whose last axis is the fastest.
func rowMajor(shape []int) []int {
	strides := make([]int, len(shape))
	step := 1
	for i := len(shape) - 1; i >= 0; i-- {
		strides[i] = step
		step *= shape[i]
	}
	return strides
}

// columnMajor returns the strides of an array whose first axis is the fastest.
func columnMajor(shape []int) []int {
	strides := make([]int, len(shape))
	step := 1
	for i, n := range shape {
		strides[i] = step
		step *= n
	}
	return strides
}
