package recording

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// digital returns the digital values of one signal, segments joined.
func digital(t *testing.T, r *Recording, signal int) []float64 {
	t.Helper()
	var values []float64
	for b, err := range r.Digital([]int{signal}) {
		if err != nil {
			t.Fatal(err)
		}
		values = append(values, b.Samples[0]...)
	}
	return values
}

// Files of 24 bits written by EDFlib (testdata/recording/bdf_write.c): every
// digital value is to the last bit the one that the C program put in, and the
// physical value is it, scaled.
func TestEDFlibFiles24(t *testing.T) {
	for _, c := range []struct {
		name     string
		kind     Kind
		segments []Segment
		events   []Event
	}{
		{"continuous.bdf", BDFPlusC, []Segment{{0.5, 0, 8}},
			[]Event{{Onset: 0.6, Duration: math.NaN(), Text: "known"},
				{Onset: 1.7345, Duration: 0.5, Text: "novel → 12"}}},
		{"gaps.bdf", BDFPlusD, []Segment{{0.5, 0, 4}, {4.5, 4, 4}},
			[]Event{{Onset: 0.6, Duration: math.NaN(), Text: "known"},
				{Onset: 1.7345, Duration: 0.5, Text: "novel → 12"}}},
		{"plain.bdf", BDF, []Segment{{0, 0, 8}}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := open(t, readFile(t, c.name))
			if r.Kind != c.kind || r.Kind.Bits() != 24 || r.Records != 8 || r.RecordDuration != 0.25 ||
				len(r.Notes) != 0 {
				t.Errorf("%v of %d bits, %d records of %g s, notes %q", r.Kind, r.Kind.Bits(),
					r.Records,
					r.RecordDuration, r.Notes)
			}
			if got := r.Start.Format("2006-01-02 15:04:05"); got != "2022-05-06 07:08:09" {
				t.Errorf("start %s", got)
			}
			want := []Signal{
				{"Fpz", "active electrode", "uV", "DC; 104 Hz", -262144, 262143, -8388608, 8388607, 64},
				{"EXG1", "", "mV", "", 187.5, -187.5, -1000000, 1000000, 32},
				{"Status", "Triggers and Status", "Boolean", "", -8388608, 8388607, -8388608, 8388607,
					64},
			}
			if !equal(r.Signals, want) || r.Rate(0) != 256 {
				t.Errorf("signals %+v at %g Hz", r.Signals, r.Rate(0))
			}
			if !equal(r.Segments, c.segments) {
				t.Errorf("segments %v, want %v", r.Segments, c.segments)
			}
			if len(r.Events) != len(c.events) {
				t.Fatalf("events %v, want %v", r.Events, c.events)
			}
			for i, e := range c.events {
				if !sameEvent(r.Events[i], e) {
					t.Errorf("event %v, want %v", r.Events[i], e)
				}
			}
			compareSamples24(t, r)
		})
	}
}

func compareSamples24(t *testing.T, r *Recording) {
	t.Helper()
	var stored, scaled [][]float64
	total := 0
	for i := range r.Signals {
		stored, scaled = append(stored, digital(t, r, i)), append(scaled, read(t, r, i))
		total += len(stored[i])
	}
	table := rows(t, "samples24.tsv")
	if len(table) != total {
		t.Fatalf("%d samples, want %d", total, len(table))
	}
	for _, row := range table {
		signal, sample := int(number(t, row[0])), int(number(t, row[1]))
		if got, want := stored[signal][sample], number(t, row[2]); got != want {
			t.Fatalf("signal %d, sample %d: digital %v, want %v", signal, sample, got, want)
		}
		// EDFlib rounds twice where this package rounds once.
		if got, want := scaled[signal][sample], number(t, row[3]); math.Abs(got-want) > 1e-15*8388608*4 {
			t.Fatalf("signal %d, sample %d: %v, EDFlib reads %v", signal, sample, got, want)
		}
	}
}

// atList24 returns the offset of the first list of a record of the 24-bit
// specimen, whose records have 51 bytes.
func atList24(record int) int { return atRecords + record*51 + 18 }

func TestOpenRefuses24(t *testing.T) {
	good := specimenOf(t, BDFPlusC)
	for _, c := range []struct {
		name   string
		file   []byte
		offset int64
		field  string
		got    string
	}{
		{"byte 255 alone", patch(good, 0, "\xff       "), 0, "version", `"\xff       "`},
		{"the word without byte 255", patch(good, 0, "BIOSEMI "), 0, "version", `"BIOSEMI "`},
		{"the word in small letters", patch(good, 1, "biosemi"), 0, "version", `"\xffbiosemi"`},
		{"UTF-8 of character 255", patch(good, 0, "\xc3\xbfBIOSEM"), 0, "version", `"ÿBIOSEM"`},
		{"neither C nor D", patch(good, 192, "BDF+X"), 192, "reserved",
			`"BDF+X                                       "`},
		{"D without annotations", patch(patch(good, 192, "BDF+D"), 256+32, "EDF Annotations"), 192, "reserved",
			`"BDF+D                                       "`},
		{"read as 16 bits", patch(good, 0, "0       "), atDigitalMin + 16, "digital minimum of signal 3",
			`"-8388608"`},
		{"digital minimum of 25 bits", patch(good, atDigitalMin, "-8388609"), atDigitalMin,
			"digital minimum of signal 1", `"-8388609"`},
		{"digital maximum of 25 bits", patch(good, atDigitalMax, "8388608 "), atDigitalMax,
			"digital maximum of signal 1", `"8388608 "`},
		{"cut within a sample", good[:1176], 1176, "data records",
			"the end of the file after 2 whole records and 50 bytes"},
		{"samples in the annotations", patch(good, atList24(1), "\x01\x02\x03"), int64(atList24(1)),
			"annotation",
			`"\x01\x02\x03"`},
		{"backwards", patch(good, atList24(1), "+0"), int64(atList24(1)), "annotation", `"+0"`},
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
		})
	}
}

func TestOpenAccepts24(t *testing.T) {
	good := specimenOf(t, BDFPlusC)
	for _, c := range []struct {
		name string
		file []byte
		kind Kind
		note string
	}{
		{"the specimen", good, BDFPlusC, ""},
		{"full range", patch(patch(good, atDigitalMin, "-8388608"), atDigitalMax, "8388607 "), BDFPlusC, ""},
		{"plain with annotations", patch(good, 192, "24BIT"), BDFPlusC,
			"plain BDF but there is an annotation signal: read as BDF+C"},
		{"C without annotations", patch(good, 256+32, "EDF Annotations"), BDFPlusC,
			"says BDF+C but there is no annotation signal"},
		{"C with a gap", patch(good, atList24(2), "+9"), BDFPlusC, "says BDF+C, continuous, but"},
		{"D with a gap", patch(patch(good, 192, "BDF+D"), atList24(2), "+9"), BDFPlusD, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := openBytes(c.file, Options{})
			if err != nil {
				t.Fatal(err)
			}
			notes := strings.Join(r.Notes, "\n")
			if r.Kind != c.kind || (notes == "") != (c.note == "") || !strings.Contains(notes, c.note) {
				t.Errorf("%v, notes %q; want %v, one with %q", r.Kind, r.Notes, c.kind, c.note)
			}
		})
	}
}

func TestKinds(t *testing.T) {
	for k, want := range []string{"EDF", "EDF+C", "EDF+D", "BDF", "BDF+C", "BDF+D"} {
		text, err := Kind(k).MarshalText()
		if string(text) != want || err != nil {
			t.Errorf("kind %d is %s, error %v; want %s", k, text, err, want)
		}
		if plus := strings.Contains(want, "+"); Kind(k).Plus() != plus {
			t.Errorf("%s: annotations %v, want %v", want, !plus, plus)
		}
	}
}
