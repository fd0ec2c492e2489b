package recording

import (
	"cmp"
	"fmt"
	"io"
	"slices"
)

// Options say how strict Open is.
type Options struct {
	// AllowTruncated uses the whole records of a file whose size and number
	// of records disagree, and notes it, instead of refusing the file.
	AllowTruncated bool
}

// A Recording is an open file. Its methods may be called from several
// goroutines if the reader's ReadAt may; its fields are for reading.
type Recording struct {
	Header

	// Events are the annotations in the order of their onsets.
	Events []Event

	// Segments are the stretches without a gap, in order; none if the file
	// has annotations only.
	Segments []Segment

	// Notes say in a line each what about the file is not as it should be
	// but does not change a number.
	Notes []string

	frame   frame
	exact   int64 // length of a record, ns
	anchors []anchor
	source  io.ReaderAt
	size    int64
	array   Source // in place of frame, source and size
}

// Open reads the header, the annotations and the times of the records of a file
// of the given size. Samples are read by [Recording.Blocks], from the same
// reader.
//
// Errors are of type *FormatError where the file is at fault.
func Open(source io.ReaderAt, size int64, o Options) (*Recording, error) {
	r, err := readHeader(source, size)
	if err != nil {
		return nil, err
	}
	r.exact = r.duration()
	if err := r.countRecords(o); err != nil {
		return nil, err
	}
	if r.exact > longest/int64(r.Records) {
		return nil, &FormatError{int64(fixed[fieldDuration].offset), fixed[fieldDuration].name,
			fmt.Sprintf("%d records of %g s", r.Records, r.RecordDuration),
			"a recording of less than 73 years"}
	}
	if err := r.readAnnotations(); err != nil {
		return nil, err
	}
	return r, nil
}

// countRecords compares the number of records with the size of the file.
func (r *Recording) countRecords(o Options) error {
	body := r.size - r.frame.header
	whole, rest := body/r.frame.record, body%r.frame.record
	found := fmt.Sprintf("%d whole records", whole)
	if rest > 0 {
		found += fmt.Sprintf(" and %d bytes", rest)
	}
	said := fmt.Sprintf("the header says %d records", r.Records)
	declared := int64(r.Records)
	if declared == -1 {
		said, declared = "the header does not say how many records there are", whole
	}
	fault := &FormatError{r.size, "data records", "the end of the file after " + found,
		fmt.Sprintf("%d records of %d bytes", declared, r.frame.record)}
	switch {
	case whole == 0:
		fault.Want = fmt.Sprintf("at least one record of %d bytes", r.frame.record)
		return fault
	case int64(r.Records) == whole && rest == 0:
		return nil
	case (declared != whole || rest > 0) && !o.AllowTruncated:
		fault.Want += " (or allow truncated files, to use the whole records)"
		return fault
	}
	declared = min(declared, whole)
	r.Notes = append(r.Notes,
		fmt.Sprintf("%s, the file ends at byte %d after %s: %d are used", said, r.size, found, declared))
	r.Records = int(declared)
	return nil
}

// annotationStride keeps the bytes read for annotations few where records are
// long, and the reads few where records are short.
const annotationStride = 4096

func (r *Recording) readAnnotations() error {
	line := newTimeline(&r.Header)
	if len(r.frame.annotations) == 0 {
		line.fill(r.Records)
	} else {
		a := annotationReader{time: line, kind: r.Kind}
		w := window{r: r.source, size: r.size, stride: annotationStride}
		for record := range r.Records {
			if err := a.record(&w, &r.frame, record); err != nil {
				return err
			}
		}
		r.Events = a.events
		slices.SortStableFunc(r.Events, func(a, b Event) int { return cmp.Compare(a.Onset, b.Onset) })
		if a.untold > 0 {
			r.Notes = append(r.Notes,
				fmt.Sprintf("%d of %d records do not give their time: taken to follow the one before "+
					"without a gap",
					a.untold, r.Records))
		}
	}
	if len(r.Signals) == 0 {
		return nil
	}
	r.Segments, r.anchors = line.segments, line.anchors
	if !r.Kind.interrupted() && len(r.Segments) > 1 {
		r.Notes = append(r.Notes,
			fmt.Sprintf("the header says %v, continuous, but the records' times show %d gaps: they "+
				"are respected",
				r.Kind, len(r.Segments)-1))
	}
	return nil
}
