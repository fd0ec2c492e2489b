package recording

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// What is written is read back: samples within half a digital step, events as
// they were.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawHeader(t)
		samples := make([][][]float64, h.Records)
		for i := range samples {
			for _, s := range h.Signals {
				low, high := min(s.PhysicalMin, s.PhysicalMax), max(s.PhysicalMin, s.PhysicalMax)
				samples[i] = append(samples[i],
					rapid.SliceOfN(rapid.Float64Range(low, high), s.SamplesPerRecord,
						s.SamplesPerRecord).Draw(t,
						"samples"))
			}
		}
		events := rapid.SliceOfN(rapid.Custom(drawEvent), 0, 8).Draw(t, "events")
		shares, room, err := h.Distribute(events)
		if err != nil {
			t.Fatal(err)
		}
		h.AnnotationBytes = room
		var b bytes.Buffer
		w, err := NewWriter(&b, h)
		if err != nil {
			t.Fatal(err)
		}
		for i := range samples {
			if err := w.WriteRecord(samples[i], shares[i]); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.Close(); err != nil || w.Clipped() != 0 {
			t.Fatalf("error %v, %d clipped", err, w.Clipped())
		}
		r, err := openBytes(b.Bytes(), Options{})
		if err != nil {
			t.Fatal(err)
		}
		compareHeaders(t, r, &h)
		compareEvents(t, r.Events, events)
		for i := range h.Signals {
			compareRecords(t, r, i, samples)
		}
	})
}

func drawHeader(t *rapid.T) Header {
	h := Header{
		Patient: "H-07 X X X", Kind: rapid.SampledFrom([]Kind{EDFPlusC, BDFPlusC}).Draw(t, "kind"),
		// 1985 to 2084
		Start:          time.Unix(rapid.Int64Range(473385600, 3629145599).Draw(t, "start"), 0).UTC(),
		Records:        rapid.IntRange(1, 5).Draw(t, "records"),
		RecordDuration: rapid.SampledFrom([]float64{0.1, 0.333333, 1, 60}).Draw(t, "duration"),
	}
	for i := range rapid.IntRange(1, 4).Draw(t, "signals") {
		low := float64(rapid.IntRange(-99999, 99998).Draw(t, "low")) / 10
		high := float64(rapid.IntRange(-99999,
			99999).Filter(func(n int) bool { return float64(n)/10 != low }).Draw(t,
			"high")) / 10
		f := h.Kind.family()
		least := rapid.IntRange(f.least(), f.most()-1).Draw(t, "least")
		h.Signals = append(h.Signals, Signal{
			Label: fmt.Sprintf("S%d", i), Transducer: "t", Unit: "uV", Prefilter: "HP:0.1Hz",
			PhysicalMin: low, PhysicalMax: high, DigitalMin: least,
			DigitalMax:       rapid.IntRange(least+1, f.most()).Draw(t, "most"),
			SamplesPerRecord: rapid.IntRange(1, 9).Draw(t, "samples per record"),
		})
	}
	return h
}

func drawEvent(t *rapid.T) Event {
	e := Event{
		Onset:    float64(rapid.IntRange(-1e9, 1e9).Draw(t, "onset")) / 1e6,
		Duration: math.NaN(),
		Text:     rapid.StringMatching(`[ -~äµ→日\t\n]{1,20}`).Draw(t, "text"),
	}
	if rapid.Bool().Draw(t, "lasting") {
		e.Duration = float64(rapid.IntRange(0, 1e9).Draw(t, "duration")) / 1e6
	}
	return e
}

func compareHeaders(t *rapid.T, r *Recording, h *Header) {
	if r.Kind != h.Kind || !r.Start.Equal(h.Start) || r.Records != h.Records ||
		r.RecordDuration != h.RecordDuration ||
		!equal(r.Signals, h.Signals) || r.AnnotationBytes != h.AnnotationBytes || len(r.Notes) != 0 ||
		len(r.Segments) != 1 {
		t.Errorf("got %+v, notes %q, want %+v", r.Header, r.Notes, h)
	}
}

// compareEvents compares without regard to the order of events at one time.
func compareEvents(t *rapid.T, got, want []Event) {
	if len(got) != len(want) {
		t.Fatalf("%d events, want %d", len(got), len(want))
	}
	left := append([]Event(nil), want...)
	for i, e := range got {
		if i > 0 && e.Onset < got[i-1].Onset {
			t.Errorf("event %d is earlier than the one before", i)
		}
		found := false
		for k := range left {
			if sameEvent(left[k], e) {
				left, found = append(left[:k], left[k+1:]...), true
				break
			}
		}
		if !found {
			t.Errorf("event %v was not written", e)
		}
	}
}

func compareRecords(t *rapid.T, r *Recording, signal int, samples [][][]float64) {
	s := r.Signals[signal]
	half := math.Abs(s.PhysicalMax-s.PhysicalMin) / float64(s.DigitalMax-s.DigitalMin) / 2
	for b, err := range r.Blocks([]int{signal}) {
		if err != nil {
			t.Fatal(err)
		}
		for k, x := range b.Samples[0] {
			i := b.First + k
			want := samples[i/s.SamplesPerRecord][signal][i%s.SamplesPerRecord]
			if math.Abs(x-want) > half+1e-11 {
				t.Errorf("signal %d, sample %d: %v, want %v within %v", signal, i, x, want, half)
			}
		}
	}
}

func TestClipped(t *testing.T) {
	var b bytes.Buffer
	w, err := NewWriter(&b, Header{Kind: EDFPlusC, Records: 1, RecordDuration: 1, Signals: []Signal{
		{Label: "a", PhysicalMin: -10, PhysicalMax: 10, DigitalMin: -10, DigitalMax: 10, SamplesPerRecord: 6},
		{Label: "b", PhysicalMin: 10, PhysicalMax: -10, DigitalMin: -10, DigitalMax: 10, SamplesPerRecord: 2},
	}})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.WriteRecord([][]float64{{-11, -10.4, 10, 10.4, 10.6, math.Inf(1)}, {-11, 11}}, nil); err != nil {
		t.Fatal(err)
	}
	if w.Clipped() != 5 {
		t.Errorf("%d samples clipped, want 5", w.Clipped())
	}
	r := open(t, b.Bytes())
	if got := read(t, r, 0); !equal(got, []float64{-10, -10, 10, 10, 10, 10}) {
		t.Errorf("got %v", got)
	}
	if got := read(t, r, 1); !equal(got, []float64{-10, 10}) {
		t.Errorf("got %v", got)
	}
}

func TestNewWriterRefuses(t *testing.T) {
	signal := func(change func(*Signal)) func(*Header) {
		return func(h *Header) { change(&h.Signals[0]) }
	}
	for _, c := range []struct {
		change func(*Header)
		want   string
	}{
		{func(h *Header) { h.Kind = EDFPlusD }, "kind EDF+D: only EDF+C and BDF+C are written"},
		{func(h *Header) { h.Records = 0 }, "0 records: at least one is needed"},
		{func(h *Header) { h.RecordDuration = 0 }, "a record of 0 s: it must be longer than zero"},
		{func(h *Header) { h.RecordDuration = math.NaN() }, "a record of NaN s: it must be longer than zero"},
		{func(h *Header) { h.RecordDuration = 1. / 3 },
			`record duration "0.3333333333333333" has 18 characters: the format has room for 8`},
		{func(h *Header) { h.Start = time.Unix(0, 1).UTC() },
			"start 1970-01-01 00:00:00.000000001 +0000 UTC has a fraction of a second: round it"},
		{func(h *Header) { h.AnnotationBytes = -2 }, "-2 bytes for annotations: give 0 for 128"},
		{func(h *Header) { h.Patient = "Zoë" }, `patient "Zoë": the format has room for printable ASCII only`},
		{func(h *Header) { h.Recording = "yesterday" },
			`the recording field must start with "Startdate" and dd-MMM-yyyy or X: leave it empty to have it made`},
		{func(h *Header) { h.Recording = "Startdate 01-JAN-2020 X X X" },
			"the recording field gives the date 2020-01-01, the start is 2021-03-04: leave one empty"},
		{signal(func(s *Signal) { s.Label = "seventeen letters" }),
			`label of signal 1 "seventeen letters" has 17 characters: the format has room for 16`},
		{signal(func(s *Signal) { s.Label = families()[0].annotation }),
			`signal 1, "EDF Annotations": the label is kept for annotations: choose another`},
		{signal(func(s *Signal) { s.Unit = "µV" }),
			`unit of signal 1 "µV": the format has room for printable ASCII only`},
		{signal(func(s *Signal) { s.PhysicalMax = 3276.71234 }),
			`physical maximum of signal 1 "3276.71234" has 10 characters: the format has room for 8`},
		{signal(func(s *Signal) { s.PhysicalMax = s.PhysicalMin }),
			`signal 1, "Cz": physical range -100 to -100: two different numbers are needed`},
		{signal(func(s *Signal) { s.PhysicalMin = math.Inf(-1) }),
			`signal 1, "Cz": physical range -Inf to 100: two different numbers are needed`},
		{signal(func(s *Signal) { s.DigitalMax = 40000 }),
			`signal 1, "Cz": digital range -1000 to 40000: it must rise, within -32768 to 32767`},
		{signal(func(s *Signal) { s.DigitalMin = 1000 }),
			`signal 1, "Cz": digital range 1000 to 1000: it must rise, within -32768 to 32767`},
		{signal(func(s *Signal) { s.SamplesPerRecord = 0 }),
			`signal 1, "Cz": 0 samples a record: at least one is needed`},
	} {
		h := Header{Kind: EDFPlusC, Records: 1, RecordDuration: 1,
			Start: time.Date(2021, 3, 4, 0, 0, 0, 0, time.UTC),
			Signals: []Signal{{Label: "Cz", Unit: "uV", PhysicalMin: -100, PhysicalMax: 100,
				DigitalMin: -1000,
				DigitalMax: 1000, SamplesPerRecord: 4}}}
		c.change(&h)
		var b bytes.Buffer
		if _, err := NewWriter(&b, h); err == nil || err.Error() != c.want {
			t.Errorf("got  %v\nwant %s", err, c.want)
		}
		if b.Len() != 0 {
			t.Errorf("%s: %d bytes were written", c.want, b.Len())
		}
	}
}

func TestWriteRecordRefuses(t *testing.T) {
	ok := [][]float64{{1, 2}}
	for _, c := range []struct {
		samples [][]float64
		events  []Event
		want    string
	}{
		{nil, nil, "record 1 has samples of 0 signals: expected 1"},
		{[][]float64{{1}}, nil, `record 1, signal "Cz": 1 samples, expected 2`},
		{[][]float64{{1, math.NaN()}}, nil, `record 1, signal "Cz", sample 2: not a number`},
		{ok, []Event{{Onset: 0, Duration: math.NaN(), Text: ""}},
			`record 1: event "" at 0 s: the text must be UTF-8, not empty, without control characters`},
		{ok, []Event{{Onset: 0, Duration: math.NaN(), Text: "a\x14b"}},
			`record 1: event "a\x14b" at 0 s: the text must be UTF-8, not empty, without control characters`},
		{ok, []Event{{Onset: 0, Duration: math.NaN(), Text: "\xff"}},
			`record 1: event "\xff" at 0 s: the text must be UTF-8, not empty, without control characters`},
		{ok, []Event{{Onset: math.NaN(), Duration: 1, Text: "a"}},
			`record 1: event "a" at NaN s: the onset cannot be written`},
		{ok, []Event{{Onset: 1, Duration: -1, Text: "a"}},
			`record 1: event "a" at 1 s: a duration of -1 s cannot be written`},
		{ok, []Event{{Onset: 1, Duration: 1, Text: strings.Repeat("a", 130)}},
			"record 1: events need 142 bytes, there is room for 128: set Header.AnnotationBytes"},
	} {
		var b bytes.Buffer
		w, err := NewWriter(&b, Header{Kind: EDFPlusC, Records: 1, RecordDuration: 1,
			Signals: []Signal{{Label: "Cz", PhysicalMin: -1, PhysicalMax: 1, DigitalMin: -1, DigitalMax: 1,
				SamplesPerRecord: 2}}})
		if err != nil {
			t.Fatal(err)
		}
		length := b.Len()
		if err := w.WriteRecord(c.samples, c.events); err == nil || err.Error() != c.want {
			t.Errorf("got  %v\nwant %s", err, c.want)
		}
		if b.Len() != length || w.Clipped() != 0 {
			t.Errorf("%s: the record was written or counted", c.want)
		}
		if err := w.Close(); err == nil ||
			err.Error() != "0 records written, the header says 1: the file is not complete" {
			t.Errorf("Close: got error %v", err)
		}
		if err := w.WriteRecord(ok, nil); err != nil {
			t.Fatal(err)
		}
		if err := w.Close(); err != nil {
			t.Error(err)
		}
		if err := w.WriteRecord(ok, nil); err == nil ||
			err.Error() != "record 2 is one more than the header says: set Header.Records first" {
			t.Errorf("a second record: got error %v", err)
		}
	}
}
