package recording

import (
	"bytes"
	"errors"
	"io"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"calotte/layout/hostile"
)

// specimen returns a small faultless EDF+C file: two signals of 4 and 2
// samples, 3 records of 1 s, 32 bytes for annotations; the header is 1024 bytes
// long and a record 44.
func specimen(tb testing.TB) []byte { return specimenOf(tb, EDFPlusC) }

func specimenOf(tb testing.TB, kind Kind) []byte {
	tb.Helper()
	var b bytes.Buffer
	w, err := NewWriter(&b, Header{
		Patient: "H-07 X X X", Kind: kind, Records: 3, RecordDuration: 1, AnnotationBytes: 32,
		Start: time.Date(2021, 3, 4, 15, 16, 17, 0, time.UTC),
		Signals: []Signal{
			{Label: "EEG Cz", Unit: "uV", PhysicalMin: -100, PhysicalMax: 100, DigitalMin: -1000,
				DigitalMax:       1000,
				SamplesPerRecord: 4},
			{Label: "EEG Pz", Unit: "uV", PhysicalMin: -100, PhysicalMax: 100, DigitalMin: -1000,
				DigitalMax:       1000,
				SamplesPerRecord: 2},
		},
	})
	if err != nil {
		tb.Fatal(err)
	}
	for i := range 3 {
		x := float64(i)
		if err := w.WriteRecord([][]float64{{x, x + 1, x + 2, x + 3}, {-x, -x - 1}},
			[]Event{{Onset: x + 0.5, Duration: 0.1, Text: "known"}}); err != nil {
			tb.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		tb.Fatal(err)
	}
	return b.Bytes()
}

// Offsets of fields in the specimen, which has three signals with the
// annotations.
const (
	atPhysicalMin = 256 + 3*104
	atPhysicalMax = 256 + 3*112
	atDigitalMin  = 256 + 3*120
	atDigitalMax  = 256 + 3*128
	atSamples     = 256 + 3*216
	atRecords     = 1024
)

// patch overwrites bytes of a copy.
func patch(file []byte, offset int, text string) []byte {
	b := slices.Clone(file)
	copy(b[offset:], text)
	return b
}

func openBytes(b []byte, o Options) (*Recording, error) {
	return Open(bytes.NewReader(b), int64(len(b)), o)
}

func TestOpenRefuses(t *testing.T) {
	good := specimen(t)
	cut := func(n int) []byte { return good[:n] }
	for _, c := range []struct {
		name   string
		file   []byte
		offset int64
		field  string
		got    string
	}{
		{"empty file", nil, 0, "header", "the end of the file after 0 bytes"},
		{"255 bytes", cut(255), 255, "header", "the end of the file after 255 bytes"},
		{"header cut", cut(1023), 1023, "header", "the end of the file after 1023 bytes"},
		{"9999 signals in 300 bytes", patch(patch(cut(300), 252, "9999"), 184, "2560000 "), 300, "header",
			"the end of the file after 300 bytes"},
		{"another version", patch(good, 0, "\xff24 bits"), 0, "version", `"\xff24 bits"`},
		{"header size contradicts signals", patch(good, 184, "768     "), 184, "header size", `"768     "`},
		{"header size with NUL", patch(good, 184, "1024\x00   "), 184, "header size", `"1024\x00   "`},
		{"no signals", patch(good, 252, "0   "), 252, "number of signals", `"0   "`},
		{"negative signals", patch(good, 252, "-3  "), 252, "number of signals", `"-3  "`},
		{"signals blank", patch(good, 252, "    "), 252, "number of signals", `"    "`},
		{"neither C nor D", patch(good, 192, "EDF+X"), 192, "reserved",
			`"EDF+X                                       "`},
		{"records with a blank inside", patch(good, 236, "1 3"), 236, "number of data records", `"1 3     "`},
		{"no records", patch(good, 236, "0"), 236, "number of data records", `"0       "`},
		{"minus two records", patch(good, 236, "-2"), 236, "number of data records", `"-2      "`},
		{"more records than bytes", patch(good, 236, "4"), 1156, "data records",
			"the end of the file after 3 whole records"},
		{"fewer records than bytes", patch(good, 236, "2"), 1156, "data records",
			"the end of the file after 3 whole records"},
		{"cut in the third record", cut(1155), 1155, "data records",
			"the end of the file after 2 whole records and 43 bytes"},
		{"cut before the first record ends", cut(1030), 1030, "data records",
			"the end of the file after 0 whole records and 6 bytes"},
		{"open-ended, cut", patch(cut(1155), 236, "-1"), 1155, "data records",
			"the end of the file after 2 whole records and 43 bytes"},
		{"duration zero", patch(good, 244, "0"), 244, "record duration", `"0       "`},
		{"duration negative", patch(good, 244, "-1"), 244, "record duration", `"-1      "`},
		{"duration not a number", patch(good, 244, "NaN"), 244, "record duration", `"NaN     "`},
		{"duration infinite", patch(good, 244, "Inf"), 244, "record duration", `"Inf     "`},
		{"duration overflows", patch(good, 244, "1e999"), 244, "record duration", `"1e999   "`},
		{"duration of a thousand years", patch(good, 244, "31557e6"), 244, "record duration", `"31557e6 "`},
		{"records longer than a life", patch(good, 244, "1e9     "), 244, "record duration",
			"3 records of 1e+09 s"},
		{"duration too short", patch(good, 244, "1e-12"), 244, "record duration", `"1e-12   "`},
		{"physical minimum with a comma", patch(good, atPhysicalMin, "-100,0  "), atPhysicalMin,
			"physical minimum of signal 1", `"-100,0  "`},
		{"physical minimum hexadecimal", patch(good, atPhysicalMin, "-0x64   "), atPhysicalMin,
			"physical minimum of signal 1", `"-0x64   "`},
		{"physical maximum blank", patch(good, atPhysicalMax+8, "        "), atPhysicalMax + 8,
			"physical maximum of signal 2", `"        "`},
		{"physical limits equal", patch(good, atPhysicalMax, "-100.0  "), atPhysicalMax,
			"physical maximum of signal 1",
			`"-100.0  "`},
		{"digital minimum with a point", patch(good, atDigitalMin, "-1000.0 "), atDigitalMin,
			"digital minimum of signal 1", `"-1000.0 "`},
		{"digital minimum of 24 bits", patch(good, atDigitalMin, "-8388608"), atDigitalMin,
			"digital minimum of signal 1", `"-8388608"`},
		{"digital limits equal", patch(good, atDigitalMax, "-1000   "), atDigitalMax,
			"digital maximum of signal 1",
			`"-1000   "`},
		{"digital limits exchanged", patch(good, atDigitalMax+8, "-1001   "), atDigitalMax + 8,
			"digital maximum of signal 2", `"-1001   "`},
		{"no samples", patch(good, atSamples, "0"), atSamples, "samples per record of signal 1", `"0       "`},
		{"negative samples", patch(good, atSamples+8, "-2"), atSamples + 8, "samples per record of signal 2",
			`"-2      "`},
		{"no room for annotations", patch(good, atSamples+16, "0 "), atSamples + 16,
			"samples per record of signal 3",
			`"0       "`},
		{"99999999 samples", patch(good, atSamples, "99999999"), 1156, "data records",
			"the end of the file after 0 whole records and 132 bytes"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := openBytes(c.file, Options{})
			var fault *FormatError
			if !errors.As(err, &fault) {
				t.Fatalf("got error %v, want a *FormatError", err)
			}
			if fault.Offset != c.offset || fault.Field != c.field || fault.Got != c.got {
				t.Errorf("got %d, %q, %q\nwant %d, %q, %q", fault.Offset, fault.Field, fault.Got,
					c.offset,
					c.field,
					c.got)
			}
			if fault.Want == "" {
				t.Error("the error does not say what is expected")
			}
		})
	}
}

func TestErrorText(t *testing.T) {
	_, err := openBytes(patch(specimen(t), 184, "768     "), Options{})
	want := `byte 184, header size: got "768     ", want 1024, which is 256 × (3 signals + 1)`
	if err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %v", err, want)
	}
}

func TestOpenAccepts(t *testing.T) {
	good := specimen(t)
	for _, c := range []struct {
		name    string
		file    []byte
		options Options
		records int
		note    string // part of the only one
	}{
		{"the specimen", good, Options{}, 3, ""},
		{"blanks in front of a number", patch(good, 236, "   3    "), Options{}, 3, ""},
		{"inverted polarity", patch(patch(good, atPhysicalMin, "100     "), atPhysicalMax, "-100    "),
			Options{},
			3,
			""},
		{"exponent", patch(good, atPhysicalMax, "1e2     "), Options{}, 3, ""},
		{"label of any bytes", patch(good, 256, "\xb5\x00\x07\xff"), Options{}, 3, ""},
		{"open-ended", patch(good, 236, "-1      "), Options{}, 3, "does not say how many"},
		{"cut", good[:1155], Options{AllowTruncated: true}, 2,
			"the header says 3 records, the file ends at byte 1155 after 2 whole records and 43 " +
				"bytes: 2 are used"},
		{"open-ended, cut", patch(good[:1155], 236, "-1"), Options{AllowTruncated: true}, 2,
			"does not say how many records there are, the file ends at byte 1155"},
		{"bytes at the end", append(slices.Clone(good), 7), Options{AllowTruncated: true}, 3, "3 are used"},
		{"fewer records than bytes", patch(good, 236, "2"), Options{AllowTruncated: true}, 2, "2 are used"},
		{"plain EDF with annotations", patch(good, 192, "     "), Options{}, 3, "read as EDF+C"},
		{"impossible date", patch(patch(good, 168, "31.02.21"), 88, "Startdate X         "), Options{}, 3,
			`start date "31.02.21" is not`},
		{"impossible time", patch(good, 176, "25.00.00"), Options{}, 3, `start time "25.00.00" is not`},
		{"two dates", patch(good, 168, "05.03.21"), Options{}, 3,
			"start date 2021-03-04 in the recording field, 2021-03-05 in the date field"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := openBytes(c.file, c.options)
			if err != nil {
				t.Fatal(err)
			}
			if r.Records != c.records {
				t.Errorf("%d records, want %d", r.Records, c.records)
			}
			if notes := strings.Join(r.Notes, "\n"); (notes == "") != (c.note == "") || len(r.Notes) > 1 ||
				!strings.Contains(notes, c.note) {
				t.Errorf("notes %q, want one with %q", r.Notes, c.note)
			}
		})
	}
}

func TestStart(t *testing.T) {
	good := specimen(t)
	for _, c := range []struct{ date, recording, want string }{
		{"04.03.21", "Startdate X X X X   ", "2021-03-04"},
		{"01.01.85", "Startdate X X X X   ", "1985-01-01"}, // the first year of the hundred
		{"31.12.84", "Startdate X X X X   ", "2084-12-31"}, // and the last
		{"04.03.21", "Startdate 04-MAR-2021", "2021-03-04"},
		{"04.03.yy", "Startdate 04-mar-2121", "2121-03-04"},
	} {
		r, err := openBytes(patch(patch(good, 168, c.date), 88, c.recording), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if got := r.Start.Format(time.DateTime); got != c.want+" 15:16:17" {
			t.Errorf("%s, %s: start %s, want %s", c.date, c.recording, got, c.want)
		}
	}
}

func TestPatientCode(t *testing.T) {
	for _, c := range []struct {
		patient string
		kind    Kind
		want    string
	}{
		{"H-07 F 02-MAY-1951 X", EDFPlusC, "H-07"},
		{"H-07 X X X and_more", EDFPlusD, "H-07"},
		{"H-07", EDFPlusC, ""},
		{"a name in four words", EDFPlusC, ""},
		{"X X X X", EDFPlusC, ""},
		{"", EDFPlusC, ""},
		{"H-07 any text", EDF, ""},
	} {
		h := Header{Patient: c.patient, Kind: c.kind}
		if got := h.PatientCode(); got != c.want {
			t.Errorf("%v %q: code %q, want %q", c.kind, c.patient, got, c.want)
		}
	}
}

func TestText(t *testing.T) {
	for _, c := range []struct{ bytes, want string }{
		{"Cz      ", "Cz"},
		{"Cz\x00\x00 \x00", "Cz"},
		{"\xb5V", "µV"},              // Latin-1
		{"\xc2\xb5V", "µV"},          // UTF-8
		{"a\x1b[2Jb", "a\ufffd[2Jb"}, // no terminal is to obey a file
		{"   ", ""},
	} {
		if got := (field{bytes: []byte(c.bytes)}).text(); got != c.want {
			t.Errorf("%q: got %q, want %q", c.bytes, got, c.want)
		}
	}
}

// A header cannot make Open take more memory than the file's size warrants.
func TestAllocation(t *testing.T) {
	good := specimen(t)
	for _, file := range [][]byte{
		patch(patch(good[:300], 252, "9999"), 184, "2560000 "),
		patch(good, atSamples, "99999999"),
		patch(good, atSamples+16, "99999999"),
		patch(good, 236, "99999999"),
	} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := openBytes(file, Options{AllowTruncated: true})
		runtime.ReadMemStats(&after)
		if n := after.TotalAlloc - before.TotalAlloc; n > 20_000 {
			t.Errorf("%d bytes taken, error %v", n, err)
		}
	}
}

// Recordings of annotations alone may have records of no duration.
func TestAnnotationsOnly(t *testing.T) {
	var b bytes.Buffer
	w, err := NewWriter(&b, Header{Kind: EDFPlusC, Records: 1, RecordDuration: 1})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.WriteRecord(nil, []Event{{Onset: 2.5, Duration: 1, Text: "novel"}}); err != nil {
		t.Fatal(err)
	}
	r, err := openBytes(patch(b.Bytes(), 244, "0"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Events) != 1 || !sameEvent(r.Events[0], Event{Onset: 2.5, Duration: 1, Text: "novel"}) ||
		len(r.Segments) != 0 {
		t.Errorf("events %v, segments %v", r.Events, r.Segments)
	}
}

// A reader whose file is shorter than its size says is not the file's fault.
func TestShortReader(t *testing.T) {
	good := specimen(t)
	for _, n := range []int{100, 600, 1100} {
		_, err := Open(bytes.NewReader(good[:n]), int64(len(good)), Options{})
		if !errors.Is(err, io.ErrUnexpectedEOF) {
			t.Errorf("%d bytes: error %v, want %v", n, err, io.ErrUnexpectedEOF)
		}
	}
}

// FuzzHeader overwrites a part of a header and cuts it.
func FuzzHeader(f *testing.F) {
	narrow, wide := specimen(f)[:atRecords], specimenOf(f, BDFPlusC)[:atRecords]
	for _, bdf := range []bool{false, true} {
		f.Add(bdf, 0, "", atRecords)
		f.Add(bdf, 252, "9999", atRecords)
		f.Add(bdf, 236, "-1", atRecords)
		f.Add(bdf, 256, "EDF Annotations ", atRecords)
		f.Add(bdf, 256, "BDF Annotations ", atRecords)
		f.Add(bdf, atPhysicalMin, "1e300   ", 1000)
	}
	f.Fuzz(func(t *testing.T, bdf bool, offset int, text string, length int) {
		defer hostile.Budget(t, len(text))()
		good := narrow
		if bdf {
			good = wide
		}
		b := overwrite(good, offset, text, length)
		read, err := readHeader(bytes.NewReader(b), int64(len(b)))
		if err != nil {
			return
		}
		h, frame := read.Header, read.frame
		if frame.header > int64(len(b)) || len(h.Signals) != len(frame.signals) ||
			len(h.Signals)+len(frame.annotations) > len(b)/signalBytes {
			t.Errorf("%d bytes gave a header of %d, %d signals", len(b), frame.header, len(h.Signals))
		}
		for i, s := range frame.signals {
			if s.offset < 0 || s.end() > frame.record ||
				h.Signals[i].DigitalMin >= h.Signals[i].DigitalMax ||
				!(h.Rate(i) > 0) {
				t.Errorf("signal %d: %+v, %+v", i, s, h.Signals[i])
			}
		}
	})
}

// overwrite makes a file from anything that a fuzzer thinks of: it patches a
// part of a good one, or appends to it, and cuts it.
func overwrite(good []byte, offset int, text string, length int) []byte {
	if offset < 0 || offset > len(good) {
		offset = 0
	}
	b := slices.Clone(good[:offset])
	b = append(b, text...)
	if len(b) < len(good) {
		b = append(b, good[len(b):]...)
	}
	return b[:min(max(length, 0), len(b))]
}
