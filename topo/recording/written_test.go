package recording

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

var update = flag.Bool("update", false, "write testdata/recording/written.edf anew; then run edflib_read on it")

// written is the content of testdata/recording/written.edf.
type written struct {
	header  Header
	samples func(record, signal int) []float64
	events  []Event
}

func theWritten() written {
	return written{
		header: Header{
			Patient: "H-07 X X X", Kind: EDFPlusC, Records: 5, RecordDuration: 0.5,
			Start: time.Date(2021, 3, 4, 15, 16, 17, 0, time.UTC),
			Signals: []Signal{
				{"EEG Fpz-Cz", "AgAgCl electrode", "uV", "HP:0.1Hz LP:75Hz", -3276.8, 3276.7, -32768,
					32767,
					16},
				{"EEG P8-A2", "", "mV", "", -0.5, 0.5, -2048, 2047, 8},
				{"Marker", "", "V", "", 5, -5, -500, 500, 1},
			},
		},
		samples: func(record, signal int) []float64 {
			x := make([]float64, []int{16, 8, 1}[signal])
			for i := range x {
				k := float64(record*len(x) + i)
				x[i] = []float64{100*math.Sin(k/5) + k*k/2, 0.49 * math.Cos(k), 2*k - 5}[signal]
			}
			return x
		},
		events: []Event{
			{Onset: -0.25, Duration: math.NaN(), Text: "before"},
			{Onset: 0, Duration: 0.2, Text: "known"},
			{Onset: 0.1234567, Duration: math.NaN(), Text: "novel"},
			{Onset: 1.5, Duration: 1.25, Text: "Zähler → 12"},
			{Onset: 1.5, Duration: math.NaN(), Text: "known"},
			{Onset: 7, Duration: math.NaN(), Text: "after"},
		},
	}
}

func (s written) file(t *testing.T) []byte {
	t.Helper()
	events, room, err := s.header.Distribute(s.events)
	if err != nil {
		t.Fatal(err)
	}
	s.header.AnnotationBytes = room
	var b bytes.Buffer
	w, err := NewWriter(&b, s.header)
	if err != nil {
		t.Fatal(err)
	}
	for i := range s.header.Records {
		if err := w.WriteRecord([][]float64{s.samples(i, 0), s.samples(i, 1), s.samples(i, 2)},
			events[i]); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if w.Clipped() != 0 {
		t.Errorf("%d samples clipped", w.Clipped())
	}
	return b.Bytes()
}

// What the Writer makes is, byte for byte, the file from which EDFlib
// (testdata/recording/edflib_read.c) read the values in written.tsv; these are
// the values that were written.
func TestWriterForEDFlib(t *testing.T) {
	s := theWritten()
	file := s.file(t)
	if *update {
		if err := os.WriteFile(filepath.Join(testdata, "written.edf"), file, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(file, readFile(t, "written.edf")) {
		t.Error("the file is not the one that was given to EDFlib: go test -update, then edflib_read")
	}
	h := s.header
	var want strings.Builder
	// type 1 is EDF+, durations count 100 ns
	fmt.Fprintf(&want, "file\t1\t3\t5\t5000000\t2021-03-04 15:16:17\tH-07\n")
	for i, c := range h.Signals {
		fmt.Fprintf(&want, "signal\t%d\t%-16s\t%-8s\t%.17g\t%.17g\t%d\t%d\t%d\n", i, c.Label, c.Unit,
			c.PhysicalMin,
			c.PhysicalMax, c.DigitalMin, c.DigitalMax, c.SamplesPerRecord)
	}
	for _, e := range s.events {
		duration := -10_000_000 // none
		if !math.IsNaN(e.Duration) {
			duration = int(math.Round(e.Duration * 1e7))
		}
		fmt.Fprintf(&want, "annotation\t%d\t%d\t%s\n", int(math.Round(e.Onset*1e7)), duration, e.Text)
	}
	for i, c := range h.Signals {
		for record := range h.Records {
			for k, x := range s.samples(record, i) {
				step := (c.PhysicalMax - c.PhysicalMin) / float64(c.DigitalMax-c.DigitalMin)
				d := float64(c.DigitalMin) + (x-c.PhysicalMin)/step
				fmt.Fprintf(&want, "sample\t%d\t%d\t%.0f\n", i, record*c.SamplesPerRecord+k, d)
			}
		}
	}
	got := string(readFile(t, "written.tsv"))
	if got != want.String() {
		t.Errorf("EDFlib reads\n%s\nwant\n%s", got, want.String())
	}
}
