package recording

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"
)

// A Signal describes one ordinary signal: a channel with samples.
type Signal struct {
	Label, Transducer, Unit, Prefilter string

	// PhysicalMin and PhysicalMax, in Unit, correspond to DigitalMin and
	// DigitalMax. PhysicalMax is the smaller one where the polarity is
	// inverted.
	PhysicalMin, PhysicalMax float64
	DigitalMin, DigitalMax   int

	SamplesPerRecord int
}

// Step is the difference in Unit that a step of the digital value makes, NaN
// where no range is stated: all four limits of an array's signals are zero.
func (s *Signal) Step() float64 {
	return math.Abs((s.PhysicalMax - s.PhysicalMin) / float64(s.DigitalMax-s.DigitalMin))
}

// A Header describes a file. Patient and Recording may identify a person:
// compare them, never print them.
type Header struct {
	Patient, Recording string

	// Start is the local clock time of second zero, in the location UTC
	// because the format knows no time zones. It is the zero time where it
	// is unreadable.
	Start time.Time

	Kind           Kind
	Records        int
	RecordDuration float64 // s; zero only without ordinary signals

	// Signals are the ordinary signals in the order of the file.
	Signals []Signal

	// AnnotationBytes is the room for annotations in each record: the sum
	// over the annotation signals. A Writer given zero uses 128 bytes.
	AnnotationBytes int

	rate float64 // Hz, of an array, whose length need not be whole nanoseconds; zero: see Rate
}

// Rate returns the sampling rate of an ordinary signal in Hz.
func (h *Header) Rate(signal int) float64 {
	if h.rate > 0 {
		return h.rate
	}
	return float64(h.Signals[signal].SamplesPerRecord) * second / float64(h.duration())
}

// Duration returns the recorded time in seconds, gaps not counted.
func (h *Header) Duration() float64 {
	return float64(int64(h.Records)*h.duration()) / second
}

// duration returns the exact length of a record in nanoseconds.
func (h *Header) duration() int64 {
	ns, _ := nanoseconds(h.RecordDuration)
	return ns
}

// PatientCode returns the code by which the investigator knows the person: the
// first subfield of the EDF+ patient field, which is code, sex, birth date,
// name. It is empty where the code is withheld, and where the field does not
// have these parts, as in plain EDF: the first word might then be a name.
func (h *Header) PatientCode() string {
	parts := strings.Fields(h.Patient)
	if !h.Kind.Plus() || len(parts) < 4 || !slices.Contains([]string{"F", "M", "X"}, parts[1]) || parts[0] == "X" {
		return ""
	}
	return parts[0]
}

// A headerReader takes a header apart. The bytes are the whole header.
type headerReader struct {
	bytes   []byte
	family  family
	first   Kind // of the family
	signals int
	notes   []string
}

func (p *headerReader) fixed(i int) field {
	from, to := fixed[i].offset, fixed[i+1].offset
	return field{fixed[i].name, int64(from), p.bytes[from:to]}
}

func (p *headerReader) column(i, signal int) field {
	width := columns[i+1].offset - columns[i].offset
	from := fixedBytes + p.signals*columns[i].offset + signal*width
	name := fmt.Sprintf("%s of signal %d", columns[i].name, signal+1)
	return field{name, int64(from), p.bytes[from : from+width]}
}

func (p *headerReader) note(format string, args ...any) {
	p.notes = append(p.notes, fmt.Sprintf(format, args...))
}

// readHeader reads the header of a file of the given size. Records is the
// number as written, −1 where the file does not say.
func readHeader(r io.ReaderAt, size int64) (*Recording, error) {
	var p headerReader
	h, f, err := p.read(r, size)
	return &Recording{Header: h, Notes: p.notes, frame: f, source: r, size: size}, err
}

func (p *headerReader) read(r io.ReaderAt, size int64) (h Header, f frame, err error) {
	if p.bytes, err = section(r, size, fixedBytes); err != nil {
		return h, f, err
	}
	if err = p.version(); err != nil {
		return h, f, err
	}
	f.width = p.family.width
	if p.signals, err = p.fixed(fieldSignals).count(); err != nil {
		return h, f, err
	}
	f.header = int64(fixedBytes + p.signals*signalBytes)
	if n, err := p.fixed(fieldHeaderSize).integer(); err != nil {
		return h, f, err
	} else if int64(n) != f.header {
		return h, f, p.fixed(fieldHeaderSize).wrong(fmt.Sprintf("%d, which is 256 × (%d signals + 1)", f.header,
			p.signals))
	}
	if p.bytes, err = section(r, size, f.header); err != nil {
		return h, f, err
	}

	h.Patient = p.fixed(fieldPatient).text()
	h.Recording = p.fixed(fieldRecording).text()
	if err := p.readSignals(&h, &f); err != nil {
		return h, f, err
	}
	if h.Kind, err = p.kind(len(f.annotations) > 0); err != nil {
		return h, f, err
	}
	h.Start = p.start(h.Kind, h.Recording)
	if h.Records, err = p.fixed(fieldRecords).integer(); err != nil {
		return h, f, err
	} else if h.Records < 1 && h.Records != -1 {
		return h, f, p.fixed(fieldRecords).wrong("a whole number above zero, or -1 where the recording " +
			"was broken off")
	}
	h.RecordDuration, err = p.duration(len(h.Signals) > 0)
	return h, f, err
}

// section reads the first n bytes, after looking that they are there.
func section(r io.ReaderAt, size, n int64) ([]byte, error) {
	if size < n {
		return nil, &FormatError{size, "header", fmt.Sprintf("the end of the file after %d bytes", size),
			fmt.Sprintf("a header of %d bytes", n)}
	}
	b := make([]byte, n)
	return b, readFull(r, b, 0)
}

func (p *headerReader) readSignals(h *Header, f *frame) error {
	for i := range p.signals {
		samples, err := p.column(columnSamples, i).count()
		if err != nil {
			return err
		}
		place := span{f.record, f.width * samples}
		f.record = place.end()
		if p.column(columnLabel, i).text() == p.family.annotation {
			f.annotations = append(f.annotations, place)
			h.AnnotationBytes += place.bytes
			continue
		}
		s, err := p.signal(i)
		if err != nil {
			return err
		}
		s.SamplesPerRecord = samples
		f.signals = append(f.signals, place)
		h.Signals = append(h.Signals, s)
	}
	return nil
}

func (p *headerReader) signal(i int) (s Signal, err error) {
	s.Label = p.column(columnLabel, i).text()
	s.Transducer = p.column(columnTransducer, i).text()
	s.Unit = p.column(columnUnit, i).text()
	s.Prefilter = p.column(columnPrefilter, i).text()
	if s.PhysicalMin, err = p.column(columnPhysicalMin, i).decimal(); err != nil {
		return s, err
	}
	if s.PhysicalMax, err = p.column(columnPhysicalMax, i).decimal(); err != nil {
		return s, err
	}
	if s.PhysicalMin == s.PhysicalMax {
		return s, p.column(columnPhysicalMax, i).wrong("a number other than the physical minimum")
	}
	if s.DigitalMin, err = p.digital(columnDigitalMin, i); err != nil {
		return s, err
	}
	if s.DigitalMax, err = p.digital(columnDigitalMax, i); err != nil {
		return s, err
	}
	if s.DigitalMax <= s.DigitalMin {
		return s, p.column(columnDigitalMax, i).wrong(fmt.Sprintf("a number above the digital minimum, %d",
			s.DigitalMin))
	}
	return s, nil
}

func (p *headerReader) digital(column, signal int) (int, error) {
	f := p.column(column, signal)
	n, err := f.integer()
	if least, most := p.family.least(), p.family.most(); err == nil && (n < least || n > most) {
		err = f.wrong(fmt.Sprintf("a whole number from %d to %d", least, most))
	}
	return n, err
}

// version reads the width of the samples from the first field.
func (p *headerReader) version() error {
	f := p.fixed(fieldVersion)
	for i, family := range families() {
		if string(bytes.TrimRight(f.bytes, " \x00")) == family.version {
			p.family, p.first = family, Kind(i*kindsOfFamily)
			return nil
		}
	}
	return f.wrong(`"0" followed by seven blanks, as in every EDF file, or the eight bytes of its 24-bit variant`)
}

// kind reads the variant from the reserved field.
func (p *headerReader) kind(annotated bool) (Kind, error) {
	f := p.fixed(fieldReserved)
	text, names := f.text(), p.family.names
	switch {
	case strings.HasPrefix(text, names[continuousKind]):
		if !annotated {
			p.note("the header says %s but there is no annotation signal: read as continuous, "+
				"without events",
				names[continuousKind])
		}
		return p.first + continuousKind, nil
	case strings.HasPrefix(text, names[interruptedKind]):
		if !annotated {
			return 0, f.wrong(fmt.Sprintf("an %q signal that gives each record's time",
				p.family.annotation))
		}
		return p.first + interruptedKind, nil
	case strings.HasPrefix(text, p.family.plus()):
		return 0, f.wrong(fmt.Sprintf("%s or %s", names[continuousKind], names[interruptedKind]))
	case annotated:
		p.note("the header says plain %s but there is an annotation signal: read as %s", names[plainKind],
			names[continuousKind])
		return p.first + continuousKind, nil
	}
	return p.first, nil
}

// duration reads the record duration in seconds.
func (p *headerReader) duration(sampled bool) (float64, error) {
	f := p.fixed(fieldDuration)
	d, err := f.decimal()
	if err != nil {
		return 0, err
	}
	ns, ok := nanoseconds(d)
	switch {
	case d < 0 || !ok:
		return 0, f.wrong("seconds, above zero")
	case d == 0 && sampled:
		return 0, f.wrong("seconds, above zero (zero is for files that hold annotations only)")
	case d > 0 && ns == 0:
		return 0, f.wrong("at least a nanosecond")
	}
	return d, nil
}
