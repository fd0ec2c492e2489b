package erp

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"calotte/layout"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/montage"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
	"calotte/topo/recording/event"
	"calotte/topo/unit"
)

// writeNoise writes an EDF+C recording of white noise of 20 µV at the first 64
// sites of the 10-10 system, 500 Hz, with an event "a" or "b" every two
// seconds.
func writeNoise(w io.Writer, seconds int) error {
	const rate = 500
	h := recording.Header{Kind: recording.EDFPlusC, Records: seconds, RecordDuration: 1}
	rng := rand.New(rand.NewPCG(1, 2))
	var samples [][]float64
	for _, n := range layout.Set1010()[:64] {
		h.Signals = append(h.Signals, recording.Signal{
			Label: string(n), Unit: "uV", SamplesPerRecord: rate,
			PhysicalMin: -3276.8, PhysicalMax: 3276.7, DigitalMin: -32768, DigitalMax: 32767,
		})
		row := make([]float64, rate)
		for i := range row {
			row[i] = 20 * rng.NormFloat64()
		}
		samples = append(samples, row)
	}
	out, err := recording.NewWriter(w, h)
	if err != nil {
		return err
	}
	for second := range seconds {
		var events []recording.Event
		if second%2 == 0 {
			events = []recording.Event{{Onset: float64(second) + 0.5, Duration: math.NaN(),
				Text: [2]string{"a", "b"}[second/2%2]}}
		}
		if err := out.WriteRecord(samples, events); err != nil {
			return err
		}
	}
	return out.Close()
}

// BenchmarkPipeline averages a file of 64 sites at 500 Hz with an event every
// two seconds; the memory used must not depend on its length.
func BenchmarkPipeline(b *testing.B) {
	for _, minutes := range []int{10, 60} {
		b.Run(fmt.Sprintf("%dmin", minutes), func(b *testing.B) {
			path := filepath.Join(b.TempDir(), "noise.edf")
			file, err := os.Create(path)
			if err != nil {
				b.Fatal(err)
			}
			defer file.Close()
			if err := writeNoise(file, 60*minutes); err != nil {
				b.Fatal(err)
			}
			info, err := file.Stat()
			if err != nil {
				b.Fatal(err)
			}
			p := Pipeline{
				Conditions: []Condition{{"a", event.Labels("a")}, {"b", event.Labels("b")}},
				Epoch:      unit.Span{From: -0.2, To: 0.8}, Baseline: &unit.Span{From: -0.2, To: 0},
				Reference: montage.AverageReference, Reject: Reject{Swing: 300},
			}
			b.SetBytes(info.Size())
			b.ReportAllocs()
			for b.Loop() {
				rec, err := recording.Open(file, info.Size(), recording.Options{})
				if err != nil {
					b.Fatal(err)
				}
				if _, err := p.Run(b.Context(), Input{Recording: rec}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// benchmarkChain returns a chain for 64 sites and a noisy epoch of 501 samples.
func benchmarkChain(b *testing.B) (*chain, excerpt) {
	b.Helper()
	var labels []string
	for _, n := range layout.Set1010()[:64] {
		labels = append(labels, string(n))
	}
	m, err := montage.New(erptest.Signals(labels...), montage.Options{})
	if err != nil {
		b.Fatal(err)
	}
	p := Pipeline{Reference: montage.AverageReference}
	c, err := p.newChain(&plan{montage: m, window: epoch.Window{First: -100, Last: 400, Rate: 500},
		baseline: epoch.Window{First: -100, Last: 0, Rate: 500}})
	if err != nil {
		b.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	samples := matrix.New(64, 501)
	for _, row := range samples {
		for t := range row {
			row[t] = 20 * rng.NormFloat64()
		}
	}
	return c, excerpt{samples: samples}
}

func BenchmarkClean(b *testing.B) {
	c, e := benchmarkChain(b)
	for b.Loop() {
		if _, err := c.clean(e); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAdd(b *testing.B) {
	c, e := benchmarkChain(b)
	trace, err := c.clean(e)
	if err != nil {
		b.Fatal(err)
	}
	a := epoch.NewAccumulator(len(trace), 501)
	for b.Loop() {
		a.Add(trace)
	}
}
