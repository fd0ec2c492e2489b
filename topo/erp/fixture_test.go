package erp

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"calotte/topo/recording"
	"calotte/topo/unit"
)

const (
	testdata = "../../testdata/erp"
	openData = "../../../shared/data/eegmmidb"
)

// signal is a channel of the given label in µV with steps of 0.1 µV.
func signal(label string, rate int) recording.Signal {
	return recording.Signal{
		Label: label, Unit: "uV", SamplesPerRecord: rate,
		PhysicalMin: -3276.8, PhysicalMax: 3276.7, DigitalMin: -32768, DigitalMax: 32767,
	}
}

// signals are channels in µV at 100 Hz.
func signals(labels ...string) []recording.Signal {
	var out []recording.Signal
	for _, l := range labels {
		out = append(out, signal(l, 100))
	}
	return out
}

// annotation is an event without a duration.
func annotation(onset float64, text string) recording.Event {
	return recording.Event{Onset: onset, Duration: math.NaN(), Text: text}
}

// write makes an EDF+C file of one-second records whose values are given by the
// signal's and the sample's index.
func write(tb testing.TB, h recording.Header, value func(signal, sample int) float64, events ...recording.Event) []byte {
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

func open(tb testing.TB, file []byte) *recording.Recording {
	tb.Helper()
	rec, err := recording.Open(bytes.NewReader(file), int64(len(file)), recording.Options{})
	if err != nil {
		tb.Fatal(err)
	}
	return rec
}

// averages runs a pipeline over recordings of one person.
func averages(tb testing.TB, p *Pipeline, recs ...*recording.Recording) []*Average {
	tb.Helper()
	var inputs []Input
	for _, rec := range recs {
		inputs = append(inputs, Input{Recording: rec})
	}
	total, err := p.Run(context.Background(), inputs...)
	if err != nil {
		tb.Fatal(err)
	}
	as, err := total.Averages("sub-01")
	if err != nil {
		tb.Fatal(err)
	}
	return as
}

// span reads a range.
func span(tb testing.TB, text string) unit.Span {
	tb.Helper()
	var s unit.Span
	if err := s.Set(text); err != nil {
		tb.Fatal(err)
	}
	return s
}

// latency reads an instant or a window.
func latency(tb testing.TB, text string) unit.Latency {
	tb.Helper()
	var l unit.Latency
	if err := l.Set(text); err != nil {
		tb.Fatal(err)
	}
	return l
}

// wantError checks that an error says what it should, in one line.
func wantError(tb testing.TB, err error, parts ...string) {
	tb.Helper()
	if err == nil {
		tb.Errorf("no error, want %q", parts)
		return
	}
	for _, p := range parts {
		if !strings.Contains(err.Error(), p) {
			tb.Errorf("error %q does not say %q", err, p)
		}
	}
	if strings.Contains(err.Error(), "\n") {
		tb.Errorf("error %q has more than one line", err)
	}
}

// rows reads a table of the reference data without its header line.
func rows(tb testing.TB, name string) [][]string {
	tb.Helper()
	b, err := os.ReadFile(filepath.Join(testdata, name))
	if err != nil {
		tb.Fatal(err)
	}
	var table [][]string
	for line := range strings.Lines(string(b)) {
		table = append(table, strings.Split(strings.TrimSuffix(line, "\n"), "\t"))
	}
	return table[1:]
}

func numbers(tb testing.TB, texts []string) []float64 {
	tb.Helper()
	out := make([]float64, len(texts))
	for i, text := range texts {
		var err error
		if out[i], err = strconv.ParseFloat(text, 64); err != nil {
			tb.Fatal(err)
		}
	}
	return out
}

func readJSON(tb testing.TB, name string, v any) {
	tb.Helper()
	b, err := os.ReadFile(filepath.Join(testdata, name))
	if err != nil {
		tb.Fatal(err)
	}
	if err := json.Unmarshal(b, v); err != nil {
		tb.Fatal(err)
	}
}

func near(got, want, tolerance float64) bool { return math.Abs(got-want) <= tolerance }
