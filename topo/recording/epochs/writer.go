package epochs

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
)

// A Writer writes epochs one after the other, as float32.
type Writer struct {
	w       io.Writer
	shape   Shape
	written int
	raw     []byte // of one epoch
}

// NewWriter writes the header of an array of the given shape.
func NewWriter(w io.Writer, s Shape) (*Writer, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	_, err := w.Write(s.header(0))
	return &Writer{w: w, shape: s}, err
}

// Write writes one epoch, site × sample in µV, each value rounded to the
// nearest float32. A value that is not finite, or too large for float32, is an
// error.
func (w *Writer) Write(epoch [][]float64) error {
	if w.written == w.shape.Epochs {
		return fmt.Errorf("epoch %d is one more than the shape %v says", w.written+1, w.shape)
	}
	if len(epoch) != w.shape.Sites {
		return fmt.Errorf("epoch %d has %d sites: expected %d", w.written+1, len(epoch), w.shape.Sites)
	}
	w.raw = w.raw[:0]
	for s, row := range epoch {
		if len(row) != w.shape.Samples {
			return fmt.Errorf("epoch %d, site %d has %d samples: expected %d", w.written+1, s+1, len(row),
				w.shape.Samples)
		}
		for i, x := range row {
			y := float32(x)
			if y-y != 0 {
				return fmt.Errorf("epoch %d, site %d, sample %d (counted from 1): %v cannot be "+
					"written as a float32",
					w.written+1, s+1, i+1, x)
			}
			w.raw = binary.LittleEndian.AppendUint32(w.raw, math.Float32bits(y))
		}
	}
	w.written++
	_, err := w.w.Write(w.raw)
	return err
}

// Close checks that as many epochs were written as the shape says. It does not
// close the underlying writer.
func (w *Writer) Close() error {
	if w.written != w.shape.Epochs {
		return fmt.Errorf("%d epochs written, the shape says %d: the file is not complete", w.written,
			w.shape.Epochs)
	}
	return nil
}
