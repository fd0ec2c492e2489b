package epochs

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"iter"
	"math"

	"calotte/topo/recording/array"
)

// A Reader reads epochs one after the other.
type Reader struct {
	Shape Shape
	width int // bytes of a value
	r     *bufio.Reader
}

// NewReader reads the header of an array of epochs. It refuses what is no
// array, other types than float32 and float64 in little endian, Fortran order,
// other than three axes, and an empty axis.
func NewReader(r io.Reader) (*Reader, error) {
	buffered := bufio.NewReaderSize(r, 1<<16)
	h, _, err := array.NumPyHeader(buffered)
	if err != nil {
		return nil, err
	}
	s, width, err := shapeOf(h)
	if err != nil {
		return nil, err
	}
	return &Reader{s, width, buffered}, nil
}

// All returns the epochs, site × sample in µV, which the next epoch overwrites.
// A value that is NaN or infinite, a file that ends early and one that goes on
// after the last epoch are errors; an error ends the sequence. It can be taken
// once.
func (r *Reader) All() iter.Seq2[[][]float64, error] {
	return func(yield func([][]float64, error) bool) {
		epoch := make([][]float64, r.Shape.Sites)
		raw := make([]byte, r.Shape.Samples*r.width)
		for i := range epoch {
			epoch[i] = make([]float64, r.Shape.Samples)
		}
		for e := range r.Shape.Epochs {
			if err := r.read(epoch, raw, e); err != nil {
				yield(nil, err)
				return
			}
			if !yield(epoch, nil) {
				return
			}
		}
		if err := r.ended(); err != nil {
			yield(nil, err)
		}
	}
}

func (r *Reader) read(epoch [][]float64, raw []byte, e int) error {
	for s, row := range epoch {
		if _, err := io.ReadFull(r.r, raw); err != nil {
			return array.CutShort(fmt.Sprintf("epoch %d of %d", e+1, r.Shape.Epochs), err)
		}
		r.decode(row, raw)
		for i, x := range row {
			if x-x != 0 {
				return fmt.Errorf("epoch %d, site %d, sample %d (counted from 1): %v; expected a "+
					"finite number",
					e+1,
					s+1, i+1, x)
			}
		}
	}
	return nil
}

func (r *Reader) decode(row []float64, raw []byte) {
	if r.width == 8 {
		for i := range row {
			row[i] = math.Float64frombits(binary.LittleEndian.Uint64(raw[8*i:]))
		}
		return
	}
	for i := range row {
		row[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(raw[4*i:])))
	}
}

// ended checks that nothing follows.
func (r *Reader) ended() error {
	switch _, err := r.r.ReadByte(); err {
	case nil:
		return fmt.Errorf("the file goes on after %d epochs: it is no single array of shape %v", r.Shape.Epochs,
			r.Shape)
	case io.EOF:
		return nil
	default:
		return err
	}
}
