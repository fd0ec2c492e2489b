package recording

import (
	"errors"
	"fmt"
	"io"
)

// A window reads a file in strides: whoever walks through it in order in small
// steps causes few reads, whoever takes a little here and there causes small
// ones.
type window struct {
	r      io.ReaderAt
	size   int64 // of the file
	stride int   // fewest bytes to read at once
	offset int64 // of the bytes held
	held   []byte
	buffer []byte
}

// bytes returns n bytes at an offset, valid until the next call. They must lie
// within the file.
func (w *window) bytes(offset int64, n int) ([]byte, error) {
	from := offset - w.offset
	if from < 0 || from+int64(n) > int64(len(w.held)) {
		length := int(min(int64(max(n, w.stride)), w.size-offset))
		if length > len(w.buffer) {
			w.buffer = make([]byte, length)
		}
		w.held = nil
		if err := readFull(w.r, w.buffer[:length], offset); err != nil {
			return nil, err
		}
		w.offset, w.held, from = offset, w.buffer[:length], 0
	}
	return w.held[from : from+int64(n)], nil
}

// readFull fills b from an offset.
func readFull(r io.ReaderAt, b []byte, offset int64) error {
	n, err := r.ReadAt(b, offset)
	switch {
	case n == len(b):
		return nil
	case err == nil || errors.Is(err, io.EOF):
		err = io.ErrUnexpectedEOF
	}
	return fmt.Errorf("reading bytes %d to %d: %w", offset, offset+int64(len(b)), err)
}
