package recording

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"calotte/layout/hostile"
)

const (
	testdata = "../../testdata/recording"
	openData = "../../../shared/data/eegmmidb"
)

func readFile(t *testing.T, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(testdata, name))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// rows reads a table with a header line.
func rows(t *testing.T, name string) [][]string {
	t.Helper()
	var table [][]string
	for line := range strings.Lines(string(readFile(t, name))) {
		table = append(table, strings.Split(strings.TrimSuffix(line, "\n"), "\t"))
	}
	return table[1:]
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// read returns all samples of one signal, segments joined.
func read(t *testing.T, r *Recording, signal int) []float64 {
	t.Helper()
	var samples []float64
	for b, err := range r.Blocks([]int{signal}) {
		if err != nil {
			t.Fatal(err)
		}
		samples = append(samples, b.Samples[0]...)
	}
	return samples
}

// Files written by EDFlib (testdata/recording/edflib_write.c): every sample is,
// to the last bit, the digital value that the C program put in, scaled.
func TestEDFlibFiles(t *testing.T) {
	for _, c := range []struct {
		name     string
		kind     Kind
		segments []Segment
		gaps     []Gap
	}{
		{"continuous.edf", EDFPlusC, []Segment{{0.25, 0, 6}}, nil},
		{"gaps.edf", EDFPlusD, []Segment{{0.25, 0, 3}, {8.75, 3, 3}}, []Gap{{1.75, 7}}},
		{"plain.edf", EDF, []Segment{{0, 0, 6}}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := open(t, readFile(t, c.name))
			if r.Kind != c.kind || r.Records != 6 || r.RecordDuration != 0.5 || len(r.Notes) != 0 {
				t.Errorf("%v, %d records of %g s, notes %q", r.Kind, r.Records, r.RecordDuration,
					r.Notes)
			}
			if got := r.Start.Format("2006-01-02 15:04:05"); got != "2021-03-04 15:16:17" {
				t.Errorf("start %s", got)
			}
			want := []struct {
				signal Signal
				rate   float64
			}{
				{Signal{"EEG Fpz-Cz", "AgAgCl electrode", "uV", "HP:0.1Hz LP:75Hz", -32768, 32767,
					-32768,
					32767,
					80},
					160},
				{Signal{"EEG P8-A2", "AgAgCl electrode", "uV", "", -500, 500, -32768, 32767, 40}, 80},
				{Signal{"Resp nasal", "thermistor", "mV", "", 200, -200, -2048, 2047, 5}, 10},
			}
			for i, w := range want {
				if r.Signals[i] != w.signal || r.Rate(i) != w.rate {
					t.Errorf("signal %d: %+v at %g Hz, want %+v", i, r.Signals[i], r.Rate(i), w)
				}
			}
			if !equal(r.Segments, c.segments) || !equal(r.gaps(), c.gaps) {
				t.Errorf("segments %v, gaps %v; want %v, %v", r.Segments, r.gaps(), c.segments, c.gaps)
			}
			compareSamples(t, r)
		})
	}
}

func equal[T comparable](a, b []T) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

func compareSamples(t *testing.T, r *Recording) {
	t.Helper()
	samples := [][]float64{read(t, r, 0), read(t, r, 1), read(t, r, 2)}
	count := 0
	for _, row := range rows(t, "samples.tsv") {
		signal, sample := int(number(t, row[0])), int(number(t, row[1]))
		digital, physical := number(t, row[2]), number(t, row[3])
		count++
		got := samples[signal][sample]
		s := r.Signals[signal].scale()
		if got != digital*s.gain+s.offset || math.Round((got-s.offset)/s.gain) != digital {
			t.Fatalf("signal %d, sample %d: %v is not digital %v", signal, sample, got, digital)
		}
		if signal == 0 && got != digital {
			t.Fatalf("signal 0, sample %d: %v, want %v", sample, got, digital)
		}
		// EDFlib computes gain·(offset/gain + d): the two roundings
		// differ by a few units in the last place of the range.
		if math.Abs(got-physical) > 1e-12*32768 {
			t.Fatalf("signal %d, sample %d: %v, EDFlib reads %v", signal, sample, got, physical)
		}
	}
	if total := len(samples[0]) + len(samples[1]) + len(samples[2]); total != count {
		t.Errorf("%d samples, want %d", total, count)
	}
}

// Events of the files written by EDFlib, and the samples of the first signal
// nearest to them: ⌊(onset − 0.25)·160 + ½⌋, and from 8.75 s after the gap.
func TestEDFlibEvents(t *testing.T) {
	table := rows(t, "events.tsv")
	for _, c := range []struct {
		name    string
		samples [][2]int // segment, index; segment −1: none
	}{
		{"continuous.edf", [][2]int{{0, 40}, {0, 120}, {0, 200}, {0, 425}, {-1, 0}}},
		{"gaps.edf", [][2]int{{0, 40}, {0, 120}, {0, 200}, {-1, 0}, {1, 40}}},
	} {
		r := open(t, readFile(t, c.name))
		if len(r.Events) != len(table) {
			t.Fatalf("%s: %d events, want %d", c.name, len(r.Events), len(table))
		}
		for i, row := range table {
			want := Event{Onset: number(t, row[0]), Duration: number(t, row[1]), Text: row[2]}
			if want.Duration < 0 {
				want.Duration = math.NaN()
			}
			if !sameEvent(r.Events[i], want) {
				t.Errorf("%s: event %v, want %v", c.name, r.Events[i], want)
			}
			segment, index, ok := r.Sample(want.Onset, 0)
			if ok != (c.samples[i][0] >= 0) ||
				ok && (segment != c.samples[i][0] || index != c.samples[i][1]) {
				t.Errorf("%s: event at %g s: segment %d, sample %d, %v; want %v", c.name, want.Onset,
					segment,
					index,
					ok, c.samples[i])
			}
		}
	}
}

// The EEG Motor Movement/Imagery Dataset (Schalk et al. 2004) as numpy reads it
// (testdata/recording/eegmmidb.py).
func TestOpenData(t *testing.T) {
	var want map[string]struct {
		Sum, Squares []float64
		Every        [][]float64 `json:"every2003"`
		Events       [][3]any
	}
	if err := json.Unmarshal(readFile(t, "eegmmidb.json"), &want); err != nil {
		t.Fatal(err)
	}
	for name, w := range want {
		b, err := os.ReadFile(filepath.Join(openData, name))
		if err != nil {
			t.Skipf("open data are not here: %v", err)
		}
		r := open(t, b)
		s := r.Summary()
		if r.Kind != EDFPlusC || len(r.Signals) != 64 || r.Rate(0) != 160 || s.Duration != 125 ||
			len(r.Notes) != 0 ||
			len(s.Gaps) != 0 {
			t.Errorf("%s: %v, %d signals, %g Hz, %g s, notes %q", name, r.Kind, len(r.Signals), r.Rate(0),
				s.Duration,
				r.Notes)
		}
		if !equal(s.Events, []EventCount{{"T0", 15, 0}, {"T1", 8, firstOnset(w.Events, "T1")},
			{"T2", 7, firstOnset(w.Events, "T2")}}) {
			t.Errorf("%s: events %v", name, s.Events)
		}
		for i, e := range w.Events {
			if !sameEvent(r.Events[i],
				Event{Onset: e[0].(float64), Duration: e[1].(float64), Text: e[2].(string)}) {
				t.Errorf("%s: event %d is %v, numpy reads %v", name, i, r.Events[i], e)
			}
		}
		compareSums(t, r, w.Sum, w.Squares, w.Every)
	}
}

func firstOnset(events [][3]any, text string) float64 {
	for _, e := range events {
		if e[2] == text {
			return e[0].(float64)
		}
	}
	return math.NaN()
}

// compareSums compares with sums of digital values, which here are µV.
func compareSums(t *testing.T, r *Recording, sum, squares []float64, every [][]float64) {
	t.Helper()
	for i := range r.Signals {
		x := read(t, r, i)
		if len(x) != 20000 {
			t.Fatalf("%d samples, want 20000", len(x))
		}
		var s, q float64
		for k, v := range x {
			s, q = s+v, q+v*v
			if k%2003 == 0 && v != every[i][k/2003] {
				t.Errorf("signal %d, sample %d: %v, want %v", i, k, v, every[i][k/2003])
			}
			if k >= 20000-80 && v != 0 {
				t.Errorf("signal %d, sample %d: %v, want 0", i, k, v)
			}
		}
		if s != sum[i] || q != squares[i] {
			t.Errorf("signal %d: sum %v, squares %v; want %v, %v", i, s, q, sum[i], squares[i])
		}
	}
}

// FuzzOpen overwrites a part of a file and cuts it.
// Whatever the bytes, a file is refused or all of its samples can be read.
func FuzzOpenBytes(f *testing.F) {
	for _, b := range hostile.Seeds(f, os.DirFS("../../testdata/corpus"), "recordings/*") {
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		defer hostile.Budget(t, len(b))()
		r, err := openBytes(b, Options{AllowTruncated: true})
		if err != nil {
			if strings.ContainsAny(err.Error(), "\r\n\x1b") || len(err.Error()) > 500 {
				t.Errorf("not a short line: %q", err)
			}
			return
		}
		for i := range r.Signals {
			total := 0
			for block, err := range r.Blocks([]int{i}) {
				if err != nil {
					t.Fatal(err)
				}
				total += len(block.Samples[0])
			}
			if total != r.Records*r.Signals[i].SamplesPerRecord {
				t.Fatalf("signal %d: %d samples", i, total)
			}
		}
		r.Summary()
	})
}

func FuzzOpen(f *testing.F) {
	narrow, wide := specimen(f), specimenOf(f, BDFPlusC)
	for bdf, good := range map[bool][]byte{false: narrow, true: wide} {
		f.Add(bdf, 0, "", len(good))
		f.Add(bdf, 236, "-1      ", len(good)-1)
		f.Add(bdf, 192, "EDF+D", len(good))
		f.Add(bdf, 192, "BDF+D", len(good))
		f.Add(bdf, atList(2), "+9", len(good))
		f.Add(bdf, atList24(2), "+9", len(good))
		f.Add(bdf, 244, "0.333333", len(good))
	}
	f.Fuzz(func(t *testing.T, bdf bool, offset int, text string, length int) {
		defer hostile.Budget(t, len(text))()
		good := narrow
		if bdf {
			good = wide
		}
		b := overwrite(good, offset, text, length)
		r, err := openBytes(b, Options{AllowTruncated: true})
		if err != nil {
			return
		}
		records := 0
		for s, segment := range r.Segments {
			if segment.Record != records || segment.Records < 1 {
				t.Fatalf("segment %d: %+v after %d records", s, segment, records)
			}
			records += segment.Records
		}
		if len(r.Signals) > 0 && records != r.Records {
			t.Fatalf("segments hold %d of %d records", records, r.Records)
		}
		for _, e := range r.Events {
			for i := range r.Signals {
				if s, k, ok := r.Sample(e.Onset, i); ok && (k < 0 || k >= r.Samples(s, i)) {
					t.Fatalf("event at %g: sample %d of %d", e.Onset, k, r.Samples(s, i))
				}
			}
		}
		for i := range r.Signals {
			total := 0
			for block, err := range r.Blocks([]int{i}) {
				if err != nil {
					t.Fatal(err)
				}
				total += len(block.Samples[0])
			}
			if total != r.Records*r.Signals[i].SamplesPerRecord {
				t.Fatalf("signal %d: %d samples", i, total)
			}
			for s := range r.Segments {
				last := r.Samples(s, i) - 1
				if at, k, ok := r.Sample(r.Time(s, last, i), i); ok && (at < s || at == s && k < last) {
					t.Fatalf("signal %d: the last sample of segment %d found in segment %d "+
						"at %d, not %d",
						i,
						s,
						at,
						k,
						last)
				}
			}
		}
		r.Summary()
	})
}
