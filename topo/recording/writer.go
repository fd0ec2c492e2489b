package recording

import (
	"fmt"
	"io"
	"math"
	"slices"
)

// defaultAnnotationBytes is the room for annotations in a record where the
// header does not ask for any: the record's time and a few short events.
const defaultAnnotationBytes = 128

// A Writer writes an EDF+C or BDF+C file: the header at once, then record after
// record.
type Writer struct {
	w        io.Writer
	signals  []Signal
	scales   []scale
	records  int
	duration int64 // ns
	width    int   // bytes of a sample
	record   []byte
	samples  int // bytes of the record that hold samples; annotations follow
	written  int
	clipped  int
}

// NewWriter writes the header and returns a writer for h.Records records.
// Header texts are printable ASCII, of at most the length that the format has
// room for.
//
// Kind must be EDFPlusC or BDFPlusC. An empty Patient is written as unknown. An
// empty Recording is made from Start; a zero Start is written as withheld, with
// the clipping date 1 January 1985 in the date field.
func NewWriter(w io.Writer, h Header) (*Writer, error) {
	if err := checkHeader(&h); err != nil {
		return nil, err
	}
	if h.AnnotationBytes == 0 {
		h.AnnotationBytes = defaultAnnotationBytes
	}
	width := h.Kind.family().width
	h.AnnotationBytes = roundUp(h.AnnotationBytes, width)
	b, err := encodeHeader(&h)
	if err != nil {
		return nil, err
	}
	out := &Writer{w: w, signals: slices.Clone(h.Signals), records: h.Records, duration: h.duration(), width: width}
	for i := range h.Signals {
		out.samples += out.width * h.Signals[i].SamplesPerRecord
		out.scales = append(out.scales, h.Signals[i].scale())
	}
	out.record = make([]byte, out.samples+h.AnnotationBytes)
	_, err = w.Write(b)
	return out, err
}

// WriteRecord writes one record: for each signal SamplesPerRecord physical
// values, and events, whose onsets may lie anywhere. Values outside the
// physical range are clipped and counted; NaN is an error. Events that do not
// fit are an error; [Header.Distribute] says how much room they need.
func (w *Writer) WriteRecord(samples [][]float64, events []Event) error {
	if w.written == w.records {
		return fmt.Errorf("record %d is one more than the header says: set Header.Records first", w.written+1)
	}
	if len(samples) != len(w.signals) {
		return fmt.Errorf("record %d has samples of %d signals: expected %d", w.written+1, len(samples),
			len(w.signals))
	}
	annotations, err := appendRecordLists(nil, int64(w.written)*w.duration, events)
	if err != nil {
		return fmt.Errorf("record %d: %w", w.written+1, err)
	}
	room := w.record[w.samples:]
	if len(annotations) > len(room) {
		return fmt.Errorf("record %d: events need %d bytes, there is room for %d: set Header.AnnotationBytes",
			w.written+1, len(annotations), len(room))
	}
	clear(room[copy(room, annotations):])
	clipped, place := 0, w.record
	for i, values := range samples {
		n, err := w.encode(place, values, i)
		if err != nil {
			return err
		}
		clipped += n
		place = place[w.width*len(values):]
	}
	if _, err := w.w.Write(w.record); err != nil {
		return err
	}
	w.written++
	w.clipped += clipped
	return nil
}

// encode writes the samples of one signal and returns how many it clipped.
func (w *Writer) encode(dst []byte, values []float64, signal int) (clipped int, err error) {
	s := &w.signals[signal]
	if len(values) != s.SamplesPerRecord {
		return 0, fmt.Errorf("record %d, signal %q: %d samples, expected %d", w.written+1, s.Label, len(values),
			s.SamplesPerRecord)
	}
	gain, offset := w.scales[signal].gain, w.scales[signal].offset
	low, high := float64(s.DigitalMin), float64(s.DigitalMax)
	for i, x := range values {
		d := math.Round((x - offset) / gain)
		switch {
		case d < low:
			d, clipped = low, clipped+1
		case d > high:
			d, clipped = high, clipped+1
		case math.IsNaN(d):
			return 0, fmt.Errorf("record %d, signal %q, sample %d: not a number", w.written+1, s.Label, i+1)
		}
		for k := range w.width {
			dst[w.width*i+k] = byte(int(d) >> (8 * k))
		}
	}
	return clipped, nil
}

// Clipped returns how many samples so far lay outside the physical range of
// their signal by more than half a digital step.
func (w *Writer) Clipped() int { return w.clipped }

// Close checks that as many records were written as the header says. It does
// not close the underlying writer.
func (w *Writer) Close() error {
	if w.written != w.records {
		return fmt.Errorf("%d records written, the header says %d: the file is not complete", w.written,
			w.records)
	}
	return nil
}
