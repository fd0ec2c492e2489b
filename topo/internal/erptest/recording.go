package erptest

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"testing"

	"calotte/topo/recording"
)

// Signal is a channel of the given label in µV with steps of 0.1 µV.
func Signal(label string, rate int) recording.Signal {
	return recording.Signal{
		Label: label, Unit: "uV", SamplesPerRecord: rate,
		PhysicalMin: -3276.8, PhysicalMax: 3276.7, DigitalMin: -32768, DigitalMax: 32767,
	}
}

// Signals are channels in µV at 100 Hz.
func Signals(labels ...string) []recording.Signal {
	var out []recording.Signal
	for _, l := range labels {
		out = append(out, Signal(l, 100))
	}
	return out
}

// Annotation is an event without a duration.
func Annotation(onset float64, text string) recording.Event {
	return recording.Event{Onset: onset, Duration: math.NaN(), Text: text}
}

// Write makes an EDF+C file of one-second records whose values are given by the
// signal's and the sample's index.
func Write(tb testing.TB, h recording.Header, value func(signal, sample int) float64,
	events ...recording.Event) []byte {
	tb.Helper()
	h.Kind, h.RecordDuration = recording.EDFPlusC, 1
	byRecord, room, err := h.Distribute(events)
	if err != nil {
		tb.Fatal(err)
	}
	h.AnnotationBytes = room
	var file bytes.Buffer
	w, err := recording.NewWriter(&file, h)
	if err != nil {
		tb.Fatal(err)
	}
	for r := range h.Records {
		var samples [][]float64
		for i, s := range h.Signals {
			row := make([]float64, s.SamplesPerRecord)
			for t := range row {
				row[t] = value(i, r*len(row)+t)
			}
			samples = append(samples, row)
		}
		if err := w.WriteRecord(samples, byRecord[r]); err != nil {
			tb.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		tb.Fatal(err)
	}
	return file.Bytes()
}

// Open opens a file in memory.
func Open(tb testing.TB, file []byte) *recording.Recording {
	tb.Helper()
	rec, err := recording.Open(bytes.NewReader(file), int64(len(file)), recording.Options{})
	if err != nil {
		tb.Fatal(err)
	}
	return rec
}

// OpenRecordings returns recordings of the open data set, or skips the test.
func OpenRecordings(tb testing.TB, names ...string) []*recording.Recording {
	tb.Helper()
	var recs []*recording.Recording
	for _, name := range names {
		b, err := os.ReadFile(filepath.Join(root(tb), "..", "shared", "data", "eegmmidb", name))
		if os.IsNotExist(err) {
			tb.Skipf("the open data are not here: %v", err)
		}
		if err != nil {
			tb.Fatal(err)
		}
		rec, err := recording.Open(bytes.NewReader(b), int64(len(b)), recording.Options{})
		if err != nil {
			tb.Fatal(err)
		}
		recs = append(recs, rec)
	}
	return recs
}
