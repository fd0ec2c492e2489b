package epochs

import (
	"errors"
	"io"
	"math"
)

// A Spool writes epochs whose number is not known before the last one: the
// header takes its place at the end.
type Spool struct {
	w      io.WriteSeeker
	writer *Writer
	room   int // bytes of the header
}

// mostEpochs is a number of epochs that no recording reaches; the header of a
// spool has room for it.
const mostEpochs = min(1<<40, math.MaxInt)

// NewSpool begins an array of so many sites and samples.
func NewSpool(w io.WriteSeeker, sites, samples int) (*Spool, error) {
	s := &Spool{w: w, writer: &Writer{w: w, shape: Shape{mostEpochs, sites, samples}}}
	if err := (Shape{1, sites, samples}).check(); err != nil {
		return nil, err
	}
	s.room = len(s.writer.shape.header(0))
	_, err := w.Write(make([]byte, s.room))
	return s, err
}

// Write writes one epoch, as [Writer.Write] does.
func (s *Spool) Write(epoch [][]float64) error { return s.writer.Write(epoch) }

// Close puts the header in its place. It does not close the underlying writer.
// An array without an epoch is an error.
func (s *Spool) Close() error {
	if s.writer.written == 0 {
		return errors.New("no epoch was written")
	}
	shape := s.writer.shape
	shape.Epochs = s.writer.written
	if _, err := s.w.Seek(0, io.SeekStart); err != nil {
		return err
	}
	_, err := s.w.Write(shape.header(s.room))
	return err
}
