package filter

import (
	"fmt"
	"iter"
	"math/rand/v2"
	"testing"

	"calotte/topo/recording"
)

func BenchmarkConvolver(b *testing.B) {
	for _, size := range []int{1024, 2048, 4096, 16384, 65536, 131072} {
		b.Run(fmt.Sprint(size), func(b *testing.B) {
			c := newConvolver(size, []float64{1})
			rows := newRows(2, size)
			x, y := rows[0], rows[1]
			for i := range x {
				x[i], y[i] = float64(i%7), float64(i%5)
			}
			for b.Loop() {
				c.pair(x, y)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(2*size), "ns/sample")
		})
	}
}

func BenchmarkNew(b *testing.B) {
	for b.Loop() {
		if _, err := New(Design{HighPass: 0.1, LowPass: 30}, 500); err != nil {
			b.Fatal(err)
		}
	}
}

// noise yields a segment of so many signals and samples in blocks of 2,048, all
// the same: making them takes no time.
func noise(signals, samples int) iter.Seq2[recording.Block, error] {
	rng := rand.New(rand.NewPCG(1, 2))
	memory := newRows(signals, 2048)
	for _, row := range memory {
		for i := range row {
			row[i] = 20 * rng.NormFloat64()
		}
	}
	return func(yield func(recording.Block, error) bool) {
		for first := 0; first < samples; first += len(memory[0]) {
			b := recording.Block{First: first}
			for _, row := range memory {
				b.Samples = append(b.Samples, row[:min(len(row), samples-first)])
			}
			if !yield(b, nil) {
				return
			}
		}
	}
}

// BenchmarkHour filters an hour of 64 signals at 500 Hz.
func BenchmarkHour(b *testing.B) {
	for _, d := range []Design{{HighPass: 0.1, LowPass: 30}, {LowPass: 30}, {HighPass: 0.1},
		{HighPass: 0.1, LowPass: 100, Notch: 50}} {
		b.Run(fmt.Sprintf("%v-%v,%v", d.HighPass, d.LowPass, d.Notch), func(b *testing.B) {
			const samples = 3600 * 500
			f := design(b, d, 500)
			b.ReportAllocs()
			for b.Loop() {
				for _, err := range f.Apply(noise(64, samples), []int{samples}) {
					if err != nil {
						b.Fatal(err)
					}
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/(64*samples), "ns/sample")
		})
	}
}
