package recording

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
)

// An Event is an annotation, or a row of a table of events: a text at a time.
type Event struct {
	Onset    float64 // s from the header's start
	Duration float64 // s; NaN where the file gives none
	Text     string
	Columns  Columns // of a row of a table; an annotation has none
}

// The bytes that structure a time-stamped annotation list (TAL), from Kemp &
// Olivan 2003:
//
//	onset [21 duration] 20 text 20 text 20 … 0
const (
	endOfText     = 20
	startOfLength = 21
	endOfList     = 0
)

// layoutCharacters are the control characters that a text may contain.
const layoutCharacters = "\t\n\r"

// A list is a time-stamped annotation list, still as bytes.
type list struct {
	offset   int64 // of its first byte in the file
	onset    string
	duration string // empty where absent
	texts    [][]byte
}

// A listReader cuts lists from the bytes of an annotation signal, which start
// at an offset in the file.
type listReader struct {
	b      []byte
	offset int64
}

// next is the next list; false where there is none any more.
func (r *listReader) next() (l list, ok bool, err error) {
	unused := len(r.b) - len(bytes.TrimLeft(r.b, "\x00"))
	b, offset := r.b[unused:], r.offset+int64(unused)
	if len(b) == 0 {
		return list{}, false, nil
	}
	end := bytes.IndexByte(b, endOfList)
	if end < 0 {
		return list{}, false, fault(offset, b, "a list that ends in bytes 20 and 0 within the record")
	}
	r.b, r.offset = b[end+1:], offset+int64(end)+1
	body := b[:end]
	if body[end-1] != endOfText {
		return list{}, false, fault(offset, body, "byte 20 before byte 0")
	}
	stamp, texts, _ := bytes.Cut(body[:end-1], []byte{endOfText})
	onset, duration, timed := bytes.Cut(stamp, []byte{startOfLength})
	l = list{offset: offset, onset: string(onset), duration: string(duration),
		texts: bytes.Split(texts, []byte{endOfText})}
	if len(onset) < 2 || onset[0] != '+' && onset[0] != '-' || !plain(l.onset[1:]) {
		return list{}, false, fault(offset, stamp, "an onset in seconds that starts with + or -")
	}
	if timed && !plain(l.duration) {
		return list{}, false, fault(offset+int64(len(onset))+1, duration, "a duration in seconds without sign")
	}
	return l, true, nil
}

// fault returns the error of an annotation, quoting at most 40 of its bytes.
func fault(offset int64, got []byte, want string) error {
	const most = 40
	text := strconv.Quote(string(got[:min(len(got), most)]))
	if len(got) > most {
		text += "…"
	}
	return &FormatError{offset, "annotation", text, want}
}

// plain reports whether text is digits, with at most one point between them.
func plain(text string) bool {
	digits, points := 0, 0
	for _, c := range []byte(text) {
		switch {
		case c >= '0' && c <= '9':
			digits++
		case c == '.':
			points++
		default:
			return false
		}
	}
	return digits > 0 && points <= 1
}

// seconds returns the list's onset and duration.
func (l *list) seconds() (onset, duration float64, err error) {
	onset, err = strconv.ParseFloat(l.onset, 64)
	if _, ok := nanoseconds(onset); err != nil || !ok {
		return 0, 0, fault(l.offset, []byte(l.onset), "an onset of less than 73 years")
	}
	duration = math.NaN()
	if l.duration != "" {
		duration, err = strconv.ParseFloat(l.duration, 64)
		if err != nil {
			return 0, 0, fault(l.offset+int64(len(l.onset))+1, []byte(l.duration), "a finite duration")
		}
	}
	return onset, duration, nil
}

// keepsTime reports whether the list, the first of a record, gives the record's
// start: its first text is empty.
func (l *list) keepsTime() bool { return len(l.texts[0]) == 0 }

// unit returns the resolution of the onset as written, in nanoseconds.
func (l *list) unit() int64 {
	unit := int64(second)
	for range min(decimals(l.onset), 9) {
		unit /= 10
	}
	return unit
}

// An annotationReader collects the events and the times of all records.
type annotationReader struct {
	events []Event
	time   *timeline
	kind   Kind
	untold int // records without a time of their own
}

// record reads the annotation signals of one record.
func (a *annotationReader) record(w *window, f *frame, record int) error {
	told := false
	for i, s := range f.annotations {
		offset := f.at(record, s.offset)
		b, err := w.bytes(offset, s.bytes)
		if err != nil {
			return err
		}
		lists := listReader{b, offset}
		for first := i == 0; ; first = false {
			l, ok, err := lists.next()
			if err != nil {
				return err
			}
			if !ok {
				break
			}
			if first && l.keepsTime() {
				told = true
				if err := a.start(&l, record); err != nil {
					return err
				}
			}
			if err := a.add(&l); err != nil {
				return err
			}
		}
	}
	if told {
		return nil
	}
	if a.kind.interrupted() {
		return &FormatError{f.at(record, f.annotations[0].offset), "annotation",
			fmt.Sprintf("no time of record %d", record+1),
			"a first list with an empty text, which gives the record's start"}
	}
	a.untold++
	a.time.add(a.time.next(), 1)
	return nil
}

// start takes a record's start from its first list.
func (a *annotationReader) start(l *list, record int) error {
	onset, _, err := l.seconds()
	if err != nil {
		return err
	}
	ns, _ := nanoseconds(onset)
	if !a.time.add(ns, l.unit()) {
		return fault(l.offset, []byte(l.onset),
			fmt.Sprintf("record %d to start at %+g s, where the one before it ends, or later",
				record+1, float64(a.time.next())/second))
	}
	return nil
}

func (a *annotationReader) add(l *list) error {
	onset, duration, err := l.seconds()
	if err != nil {
		return err
	}
	for _, text := range l.texts {
		if len(text) > 0 {
			a.events = append(a.events,
				Event{Onset: onset, Duration: duration, Text: display(text, layoutCharacters)})
		}
	}
	return nil
}
