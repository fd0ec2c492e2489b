package recording

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// A headerWriter lays values into the fields of a header. The first error
// stays.
type headerWriter struct {
	bytes   []byte
	signals int
	err     error
}

// encodeHeader returns the header of an EDF+C or BDF+C file with one annotation
// signal, the last, of a header that checkHeader has passed.
func encodeHeader(h *Header) ([]byte, error) {
	patient, recording, date := h.Patient, h.Recording, h.Start
	if patient == "" {
		patient = "X X X X"
	}
	if date.IsZero() {
		date = time.Date(clippingYear, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	if recording == "" {
		recording = startdate + " X X X X"
		if !h.Start.IsZero() {
			recording = startdate + " " + strings.ToUpper(h.Start.Format(longDateLayout)) + " X X X"
		}
	}
	f := h.Kind.family()
	n := len(h.Signals) + 1
	p := headerWriter{bytes: []byte(strings.Repeat(" ", fixedBytes+n*signalBytes)), signals: n}
	for i, text := range [...]string{
		fieldPatient:    patient,
		fieldRecording:  recording,
		fieldDate:       date.Format("02.01.06"),
		fieldTime:       date.Format("15.04.05"),
		fieldHeaderSize: strconv.Itoa(len(p.bytes)),
		fieldReserved:   h.Kind.String(),
		fieldRecords:    strconv.Itoa(h.Records),
		fieldDuration:   decimalText(h.RecordDuration),
		fieldSignals:    strconv.Itoa(n),
	} {
		p.put(fixed[i].name, text, fixed[i].offset, fixed[i+1].offset)
	}
	copy(p.bytes, f.version) // byte 255 is no ASCII
	for i := range h.Signals {
		p.signal(i, &h.Signals[i])
	}
	p.signal(n-1, &Signal{Label: f.annotation, PhysicalMin: -1, PhysicalMax: 1,
		DigitalMin: f.least(), DigitalMax: f.most(), SamplesPerRecord: h.AnnotationBytes / f.width})
	return p.bytes, p.err
}

func (p *headerWriter) signal(i int, s *Signal) {
	for c, text := range [...]string{
		columnLabel:       s.Label,
		columnTransducer:  s.Transducer,
		columnUnit:        s.Unit,
		columnPhysicalMin: decimalText(s.PhysicalMin),
		columnPhysicalMax: decimalText(s.PhysicalMax),
		columnDigitalMin:  strconv.Itoa(s.DigitalMin),
		columnDigitalMax:  strconv.Itoa(s.DigitalMax),
		columnPrefilter:   s.Prefilter,
		columnSamples:     strconv.Itoa(s.SamplesPerRecord),
	} {
		width := columns[c+1].offset - columns[c].offset
		from := fixedBytes + p.signals*columns[c].offset + i*width
		p.put(fmt.Sprintf("%s of signal %d", columns[c].name, i+1), text, from, from+width)
	}
}

// put writes a text at the front of the bytes from one offset to another.
func (p *headerWriter) put(name, text string, from, to int) {
	if p.err != nil {
		return
	}
	if strings.ContainsFunc(text, func(r rune) bool { return r < ' ' || r > '~' }) {
		p.err = fmt.Errorf("%s %q: the format has room for printable ASCII only", name, text)
		return
	}
	if len(text) > to-from {
		p.err = fmt.Errorf("%s %q has %d characters: the format has room for %d", name, text, len(text),
			to-from)
		return
	}
	copy(p.bytes[from:to], text)
}

// decimalText is the shortest decimal number that reads as x.
func decimalText(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// checkHeader refuses what the format cannot say.
func checkHeader(h *Header) error {
	ns, ok := nanoseconds(h.RecordDuration)
	switch {
	case h.Kind != EDFPlusC && h.Kind != BDFPlusC:
		return fmt.Errorf("kind %v: only EDF+C and BDF+C are written", h.Kind)
	case h.Records < 1:
		return fmt.Errorf("%d records: at least one is needed", h.Records)
	case !ok || ns <= 0:
		return fmt.Errorf("a record of %g s: it must be longer than zero", h.RecordDuration)
	case h.Start.Nanosecond() != 0:
		return fmt.Errorf("start %v has a fraction of a second: round it", h.Start)
	case h.AnnotationBytes < 0:
		return fmt.Errorf("%d bytes for annotations: give 0 for %d", h.AnnotationBytes, defaultAnnotationBytes)
	}
	if h.Recording != "" {
		t, full := longDate(h.Recording)
		if full && !h.Start.IsZero() && t.Format(time.DateOnly) != h.Start.Format(time.DateOnly) {
			return fmt.Errorf("the recording field gives the date %s, the start is %s: leave one empty",
				t.Format(time.DateOnly), h.Start.Format(time.DateOnly))
		}
		if !full && !strings.HasPrefix(h.Recording, startdate+" X") {
			return fmt.Errorf(`the recording field must start with "%s" and dd-MMM-yyyy or X: leave it empty to have it made`, startdate)
		}
	}
	for i := range h.Signals {
		if err := checkSignal(&h.Signals[i], h.Kind.family()); err != nil {
			return fmt.Errorf("signal %d, %q: %w", i+1, h.Signals[i].Label, err)
		}
	}
	return nil
}

func checkSignal(s *Signal, f family) error {
	switch {
	case s.Label == f.annotation:
		return fmt.Errorf("the label is kept for annotations: choose another")
	case s.SamplesPerRecord < 1:
		return fmt.Errorf("%d samples a record: at least one is needed", s.SamplesPerRecord)
	case s.DigitalMin >= s.DigitalMax || s.DigitalMin < f.least() || s.DigitalMax > f.most():
		return fmt.Errorf("digital range %d to %d: it must rise, within %d to %d", s.DigitalMin, s.DigitalMax,
			f.least(), f.most())
	case !finite(s.PhysicalMin) || !finite(s.PhysicalMax) || s.PhysicalMin == s.PhysicalMax:
		return fmt.Errorf("physical range %g to %g: two different numbers are needed", s.PhysicalMin,
			s.PhysicalMax)
	}
	return nil
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// appendRecordLists appends the annotation bytes of a record: the list that
// keeps its time, then a list an event.
func appendRecordLists(b []byte, start int64, events []Event) ([]byte, error) {
	b = append(appendTime(b, start, "+"), endOfText, endOfText, endOfList)
	for _, e := range events {
		var err error
		if b, err = appendEvent(b, e); err != nil {
			return nil, err
		}
	}
	return b, nil
}

// appendEvent appends the list of one event. Onset and duration are rounded to
// nanoseconds.
func appendEvent(b []byte, e Event) ([]byte, error) {
	if e.Text == "" || !utf8.ValidString(e.Text) || strings.ContainsFunc(e.Text, reserved) {
		return nil, fmt.Errorf("event %q at %g s: the text must be UTF-8, not empty, without control characters",
			e.Text, e.Onset)
	}
	onset, ok := nanoseconds(e.Onset)
	if !ok {
		return nil, fmt.Errorf("event %q at %g s: the onset cannot be written", e.Text, e.Onset)
	}
	b = appendTime(b, onset, "+")
	if !math.IsNaN(e.Duration) {
		duration, ok := nanoseconds(e.Duration)
		if !ok || duration < 0 {
			return nil, fmt.Errorf("event %q at %g s: a duration of %g s cannot be written", e.Text,
				e.Onset,
				e.Duration)
		}
		b = appendTime(append(b, startOfLength), duration, "")
	}
	b = append(b, endOfText)
	b = append(b, e.Text...)
	return append(b, endOfText, endOfList), nil
}

// reserved reports whether a character cannot be part of an annotation.
func reserved(r rune) bool {
	return unicode.IsControl(r) && !strings.ContainsRune(layoutCharacters, r)
}

// appendTime appends seconds with as many decimals as they need, with the given
// sign where they are not negative.
func appendTime(b []byte, ns int64, sign string) []byte {
	if ns < 0 {
		sign, ns = "-", -ns
	}
	b = append(b, sign...)
	b = strconv.AppendInt(b, ns/second, 10)
	if fraction := ns % second; fraction != 0 {
		b = append(b, strings.TrimRight(fmt.Sprintf(".%09d", fraction), "0")...)
	}
	return b
}

// roundUp returns the next multiple of width.
func roundUp(n, width int) int { return (n + width - 1) / width * width }

// Distribute puts each event into the record in which it starts (those before
// the first or after the last record into that one), keeps their order, and
// returns the bytes that the fullest record needs: a value for AnnotationBytes.
func (h *Header) Distribute(events []Event) (records [][]Event, annotationBytes int, err error) {
	d := h.duration()
	if h.Records < 1 || d < 1 {
		return nil, 0, fmt.Errorf("%d records of %g s: both must be above zero", h.Records, h.RecordDuration)
	}
	records = make([][]Event, h.Records)
	for _, e := range events {
		ns, _ := nanoseconds(e.Onset)
		i := min(max(ns/d, 0), int64(h.Records)-1)
		records[i] = append(records[i], e)
	}
	var b []byte
	for i, some := range records {
		if b, err = appendRecordLists(b[:0], int64(i)*d, some); err != nil {
			return nil, 0, err
		}
		annotationBytes = max(annotationBytes, len(b))
	}
	return records, roundUp(annotationBytes, h.Kind.family().width), nil
}
