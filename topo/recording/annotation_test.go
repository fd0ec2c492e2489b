package recording

import (
	"bytes"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"calotte/layout/hostile"
)

// lists reads all annotation lists of a signal as events, the empty texts too.
func lists(b []byte, offset int64) ([]Event, error) {
	var events []Event
	reader := listReader{b, offset}
	for {
		l, ok, err := reader.next()
		if err != nil || !ok {
			return events, err
		}
		onset, duration, err := l.seconds()
		if err != nil {
			return events, err
		}
		for _, text := range l.texts {
			events = append(events, Event{Onset: onset, Duration: duration,
				Text: display(text, layoutCharacters)})
		}
	}
}

func sameEvent(a, b Event) bool {
	return a.Onset == b.Onset && a.Text == b.Text &&
		(a.Duration == b.Duration || math.IsNaN(a.Duration) && math.IsNaN(b.Duration))
}

func TestLists(t *testing.T) {
	none := math.NaN()
	for _, c := range []struct {
		name, bytes string
		want        []Event
	}{
		{"nothing", "", nil},
		{"unused", "\x00\x00\x00", nil},
		{"a record's time", "+567\x14\x14\x00", []Event{{Onset: 567, Duration: none, Text: ""}}},
		{"time and text", "+0.5\x14\x14beep\x14\x00",
			[]Event{{Onset: 0.5, Duration: none, Text: ""}, {Onset: 0.5, Duration: none, Text: "beep"}}},
		{"two texts", "+180\x14lights off\x14door shut\x14\x00",
			[]Event{{Onset: 180, Duration: none, Text: "lights off"},
				{Onset: 180, Duration: none, Text: "door shut"}}},
		{"duration", "+1800.2\x1525.5\x14apnoea\x14\x00",
			[]Event{{Onset: 1800.2, Duration: 25.5, Text: "apnoea"}}},
		{"before the start", "-0.065\x14prior\x14\x00",
			[]Event{{Onset: -0.065, Duration: none, Text: "prior"}}},
		{"UTF-8", "+1\x14Zähler →\x14\x00", []Event{{Onset: 1, Duration: none, Text: "Zähler →"}}},
		{"Latin-1", "+1\x14Z\xe4hler\x14\x00", []Event{{Onset: 1, Duration: none, Text: "Zähler"}}},
		{"line feed", "+1\x14a\nb\x14\x00", []Event{{Onset: 1, Duration: none, Text: "a\nb"}}},
		{"no text at all", "+1\x14\x00", []Event{{Onset: 1, Duration: none, Text: ""}}},
		{"gaps between lists", "\x00+1\x14a\x14\x00\x00\x00+2\x14b\x14\x00\x00",
			[]Event{{Onset: 1, Duration: none, Text: "a"}, {Onset: 2, Duration: none, Text: "b"}}},
		{"points at the ends", "+1.\x15.5\x14a\x14\x00", []Event{{Onset: 1, Duration: .5, Text: "a"}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := lists([]byte(c.bytes), 1000)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.EqualFunc(got, c.want, sameEvent) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}

func TestListsRefused(t *testing.T) {
	for _, c := range []struct {
		name, bytes string
		offset      int64
		got         string
	}{
		{"no end", "+1\x14a\x14", 1000, `"+1\x14a\x14"`},
		{"text without end", "+1\x14a\x00", 1000, `"+1\x14a"`},
		{"second list without end", "+1\x14a\x14\x00\x00+2", 1007, `"+2"`},
		{"no sign", "1\x14a\x14\x00", 1000, `"1"`},
		{"no number", "+\x14a\x14\x00", 1000, `"+"`},
		{"two points", "+1.2.3\x14a\x14\x00", 1000, `"+1.2.3"`},
		{"comma", "+1,5\x14a\x14\x00", 1000, `"+1,5"`},
		{"exponent", "+1e3\x14a\x14\x00", 1000, `"+1e3"`},
		{"infinite", "+Inf\x14a\x14\x00", 1000, `"+Inf"`},
		{"blank", "+1 \x14a\x14\x00", 1000, `"+1 "`},
		{"only text", "known\x14\x00", 1000, `"known"`},
		{"empty duration", "+1\x15\x14a\x14\x00", 1003, `""`},
		{"signed duration", "+1\x15-2\x14a\x14\x00", 1003, `"-2"`},
		{"far away", "+9999999999\x14a\x14\x00", 1000, `"+9999999999"`},
		{"long", "+" + string(bytes.Repeat([]byte("9"), 400)) + "\x14a\x14\x00", 1000,
			`"+` + string(bytes.Repeat([]byte("9"), 39)) + `"…`},
		{"samples", "\x01\x02\x03\x00", 1000, `"\x01\x02\x03"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := lists([]byte(c.bytes), 1000)
			var fault *FormatError
			if !errors.As(err, &fault) {
				t.Fatalf("got error %v, want a *FormatError", err)
			}
			if fault.Offset != c.offset || fault.Field != "annotation" || fault.Got != c.got {
				t.Errorf("got %d, %q, %s, want %d, annotation, %s", fault.Offset, fault.Field,
					fault.Got,
					c.offset,
					c.got)
			}
		})
	}
}

// atList returns the offset of the first list of a record of the specimen.
func atList(record int) int { return atRecords + record*44 + 12 }

func TestRecordTimes(t *testing.T) {
	good := specimen(t)
	for _, c := range []struct {
		name   string
		file   []byte
		offset int // of the fault
	}{
		{"backwards", patch(good, atList(1), "+0"), atList(1)},
		{"EDF+D without a time", patch(patch(good, 192, "EDF+D"), atList(2), "\x00\x00\x00\x00\x00"),
			atList(2)},
		{"EDF+D with a text first",
			patch(patch(good, 192, "EDF+D"), atList(2), "+2\x14a\x14"+strings.Repeat("\x00", 27)),
			atList(2)},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := openBytes(c.file, Options{})
			var fault *FormatError
			if !errors.As(err, &fault) || fault.Offset != int64(c.offset) {
				t.Errorf("got error %v, want a *FormatError at %d", err, c.offset)
			}
		})
	}

	r, err := openBytes(patch(good, atList(2), "\x00\x00\x00\x00\x00"), Options{})
	if err != nil || len(r.Segments) != 1 || len(r.Notes) != 1 {
		t.Errorf("EDF+C without a record's time: error %v, segments %v, notes %q; want one segment and a note",
			err,
			r.Segments, r.Notes)
	}
	r, err = openBytes(patch(good, atList(2), "+9"), Options{})
	if err != nil || !slices.Equal(r.Segments, []Segment{{0, 0, 2}, {9, 2, 1}}) || len(r.Notes) != 1 {
		t.Errorf("EDF+C with a gap: error %v, segments %v, notes %q; want two segments and a note", err,
			r.Segments,
			r.Notes)
	}
	r, err = openBytes(patch(patch(good, 192, "EDF+D"), atList(2), "+9"), Options{})
	if err != nil || !slices.Equal(r.Segments, []Segment{{0, 0, 2}, {9, 2, 1}}) || len(r.Notes) != 0 {
		t.Errorf("EDF+D with a gap: error %v, segments %v, notes %q; want two segments and no note", err,
			r.Segments,
			r.Notes)
	}
}

// Of two annotation signals the first gives the records' times, by the first
// list of each record; other lists without text mean nothing. The times have
// two decimals, so they seem 3 and 7 ms early, more than the 0.3 ms of half a
// sample.
func TestTwoAnnotationSignals(t *testing.T) {
	var b bytes.Buffer
	ordinary := Signal{Label: "EEG Cz", Unit: "uV", PhysicalMin: -1, PhysicalMax: 1, DigitalMin: -1, DigitalMax: 1,
		SamplesPerRecord: 500}
	text := ordinary
	text.SamplesPerRecord = 16
	w, err := NewWriter(&b, Header{Kind: EDFPlusC, Records: 3, RecordDuration: 0.333333,
		Signals: []Signal{ordinary, text}, AnnotationBytes: 64})
	if err != nil {
		t.Fatal(err)
	}
	for i := range 3 {
		onset := 0.1 * float64(i)
		if err := w.WriteRecord([][]float64{make([]float64, 500), make([]float64, 16)},
			[]Event{{Onset: onset, Duration: 0, Text: "second"}}); err != nil {
			t.Fatal(err)
		}
	}
	file := patch(b.Bytes(), 256+16, families()[0].annotation+" ")
	for i, time := range []string{"+0.00", "+0.33", "+0.66"} {
		file = patch(file, 1024+i*(1000+32+64)+1000, time+"\x14\x14\x00+7\x14\x14\x00+0.05\x14first\x14\x00")
	}
	r := open(t, file)
	if !slices.Equal(r.Segments, []Segment{{0, 0, 3}}) || len(r.Notes) != 0 || r.AnnotationBytes != 96 {
		t.Errorf("segments %v, notes %q, %d bytes for annotations", r.Segments, r.Notes, r.AnnotationBytes)
	}
	var onsets []float64
	for _, e := range r.Events {
		onsets = append(onsets, e.Onset)
	}
	if !slices.Equal(onsets, []float64{0, 0.05, 0.05, 0.05, 0.1, 0.2}) {
		t.Errorf("onsets %v", onsets)
	}
}

func FuzzAnnotations(f *testing.F) {
	f.Add([]byte("+567\x14\x14\x00+1800.2\x1525.5\x14apnoea\x14door\x14\x00\x00"))
	f.Add([]byte("-0.065\x14Z\xe4hler\x14\x00"))
	f.Add([]byte("+1\x14a"))
	f.Fuzz(func(t *testing.T, b []byte) {
		defer hostile.Budget(t, len(b))()
		events, err := lists(b, 0)
		var fault *FormatError
		if err != nil && (!errors.As(err, &fault) || fault.Offset < 0 || fault.Offset > int64(len(b))) {
			t.Fatalf("error %v", err)
		}
		if err != nil {
			return
		}
		// What was read can be written and read again, where it can be
		// written.
		for _, e := range events {
			again, err := appendEvent(nil, e)
			if err != nil {
				continue
			}
			back, err := lists(again, 0)
			if err != nil || len(back) != 1 || back[0].Text != e.Text ||
				math.Abs(back[0].Onset-e.Onset) > 1e-9*max(1, 1e-6*math.Abs(e.Onset)) {
				t.Errorf("%v was read back as %v, error %v", e, back, err)
			}
		}
	})
}
