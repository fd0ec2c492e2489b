package recording

import (
	"bytes"
	"math/rand/v2"
	"runtime"
	"testing"
)

// synthetic returns an EDF+C file of noise with an event every two seconds.
func synthetic(tb testing.TB, signals, rate, seconds int) []byte {
	return syntheticOf(tb, EDFPlusC, signals, rate, seconds)
}

func syntheticOf(tb testing.TB, kind Kind, signals, rate, seconds int) []byte {
	tb.Helper()
	h := Header{Kind: kind, Records: seconds, RecordDuration: 1}
	row := make([]float64, rate)
	random := rand.New(rand.NewPCG(1, 2))
	for i := range row {
		row[i] = 50 * random.NormFloat64()
	}
	var samples [][]float64
	for range signals {
		h.Signals = append(h.Signals,
			Signal{Label: "synthetic", Unit: "uV", PhysicalMin: -3276.8, PhysicalMax: 3276.7,
				DigitalMin: -32768, DigitalMax: 32767, SamplesPerRecord: rate})
		samples = append(samples, row)
	}
	var b bytes.Buffer
	w, err := NewWriter(&b, h)
	if err != nil {
		tb.Fatal(err)
	}
	for i := range seconds {
		var events []Event
		if i%2 == 0 {
			events = []Event{{Onset: float64(i) + 0.3, Duration: 0.5, Text: "known"}}
		}
		if err := w.WriteRecord(samples, events); err != nil {
			tb.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		tb.Fatal(err)
	}
	return b.Bytes()
}

// all returns 0, 1, … n−1.
func all(n int) []int {
	signals := make([]int, n)
	for i := range signals {
		signals[i] = i
	}
	return signals
}

func BenchmarkOpenAndBlocks(b *testing.B)   { benchmarkBlocks(b, EDFPlusC) }
func BenchmarkOpenAndBlocks24(b *testing.B) { benchmarkBlocks(b, BDFPlusC) }

func benchmarkBlocks(b *testing.B, kind Kind) {
	file := syntheticOf(b, kind, 64, 500, 600)
	b.SetBytes(int64(len(file)))
	b.ReportAllocs()
	for b.Loop() {
		r := open(b, file)
		for block, err := range r.Blocks(all(64)) {
			if err != nil {
				b.Fatal(err)
			}
			runtime.KeepAlive(block)
		}
	}
}

func BenchmarkOpen(b *testing.B) {
	file := synthetic(b, 64, 500, 600)
	b.ReportAllocs()
	for b.Loop() {
		open(b, file)
	}
}

func BenchmarkOneOf64(b *testing.B) {
	r := open(b, synthetic(b, 64, 500, 600))
	for b.Loop() {
		for block, err := range r.Blocks([]int{31}) {
			if err != nil {
				b.Fatal(err)
			}
			runtime.KeepAlive(block)
		}
	}
}

func open(tb testing.TB, file []byte) *Recording {
	tb.Helper()
	r, err := Open(bytes.NewReader(file), int64(len(file)), Options{})
	if err != nil {
		tb.Fatal(err)
	}
	return r
}
