package main

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"calotte/cmd/internal/console"
	"calotte/topo/recording"
)

// calotte runs one command line in this process.
func calotte(args ...string) (stdout, stderr string, code int) {
	var out, errs bytes.Buffer
	err := run(context.Background(), args, strings.NewReader(""), &out, &errs)
	code = console.Report(&errs, err)
	return out.String(), errs.String(), code
}

// must runs a command line that has to succeed and returns standard output.
func must(t *testing.T, args ...string) string {
	t.Helper()
	stdout, stderr, code := calotte(args...)
	if code != console.OK {
		t.Fatalf("calotte %s: exit %d: %s", strings.Join(args, " "), code, stderr)
	}
	return stdout
}

// A sessionFile is a small recording: 10 s at 100 Hz, an event "go" each second
// and a "stop" half a second later. A site's signal is its index times a cosine
// of 2 Hz that starts anew at each "go".
type sessionFile struct {
	labels  []string
	unit    string
	patient string
	factor  float64 // of the signals; zero: one
	events  bool
	uneven  float64 // share by which signals differ from second to second
	change  func(file []byte) []byte
}

var eightSites = []string{"Fz", "C3", "Cz", "C4", "Pz", "P7", "P8", "Oz"}

func (s sessionFile) write(t *testing.T, path string) string {
	t.Helper()
	if s.labels == nil {
		s.labels = eightSites
	}
	if s.unit == "" {
		s.unit = "uV"
	}
	if s.factor == 0 {
		s.factor = 1
	}
	const rate, seconds = 100, 10
	h := recording.Header{
		Patient: s.patient, Recording: "Startdate 01-MAR-2026 X X X", Kind: recording.EDFPlusC,
		Start: time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC), Records: seconds, RecordDuration: 1,
	}
	if s.patient == "" {
		h.Patient = "X X X X"
	}
	for _, l := range s.labels {
		h.Signals = append(h.Signals, recording.Signal{
			Label: l, Unit: s.unit, PhysicalMin: -3276.8, PhysicalMax: 3276.7,
			DigitalMin: -32768, DigitalMax: 32767, SamplesPerRecord: rate,
		})
	}
	var b bytes.Buffer
	w, err := recording.NewWriter(&b, h)
	if err != nil {
		t.Fatal(err)
	}
	block := make([][]float64, len(s.labels))
	for k := range seconds {
		for i := range block {
			block[i] = make([]float64, rate)
			for j := range block[i] {
				block[i][j] = s.factor * (1 + s.uneven*math.Sin(float64(3*k+i))) * float64(i+1) *
					math.Cos(4*math.Pi*float64(j)/rate)
			}
		}
		var events []recording.Event
		if s.events {
			events = []recording.Event{
				{Onset: float64(k), Duration: math.NaN(), Text: "go"},
				{Onset: float64(k) + 0.5, Duration: math.NaN(), Text: "stop"},
			}
		}
		if err := w.WriteRecord(block, events); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	file := b.Bytes()
	if s.change != nil {
		file = s.change(bytes.Clone(file))
	}
	return writeFile(t, path, string(file))
}

func writeFile(t *testing.T, path, text string) string {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

// field overwrites a header field of fixed width.
func field(offset, width int, text string) func([]byte) []byte {
	return func(file []byte) []byte {
		copy(file[offset:offset+width], fmt.Sprintf("%-*s", width, text))
		return file
	}
}

// limits sets the physical limits of all signals to one number and its
// opposite.
func limits(number string) func([]byte) []byte {
	return func(file []byte) []byte {
		file = bytes.ReplaceAll(file, []byte("-3276.8 "), fmt.Appendf(nil, "%-8s", "-"+number))
		return bytes.ReplaceAll(file, []byte("3276.7  "), fmt.Appendf(nil, "%-8s", number))
	}
}

// averageTable is a table of 8 sites, 51 samples from -100 to 400 ms.
func averageTable(header string, value func(site, sample int) string) string {
	var b strings.Builder
	b.WriteString(header + "\n")
	for j := range 51 {
		fmt.Fprintf(&b, "%g", -0.1+float64(j)/100)
		for i := range eightSites {
			b.WriteString("\t" + value(i, j))
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func wave(site, sample int) string {
	return fmt.Sprintf("%.4f", float64(site-3)*math.Sin(float64(sample)/8))
}

var tableHeader = "time\t" + strings.Join(eightSites, "\t")

// listing names all files below a folder.
func listing(t *testing.T, dir string) []string {
	t.Helper()
	var files []string
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			files = append(files, path)
		}
		return err
	})
	if err != nil && !os.IsNotExist(err) {
		t.Fatal(err)
	}
	return files
}
