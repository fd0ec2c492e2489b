package trigger

import (
	"math/rand/v2"
	"testing"

	"calotte/topo/recording"
)

// A minute of noise at 1 kHz, of which each sample differs from the one before
// it.
func BenchmarkCrossings(b *testing.B) {
	random := rand.New(rand.NewPCG(1, 2))
	samples := make([]float64, 60_000)
	for i := range samples {
		samples[i] = 100 * random.NormFloat64()
	}
	r := file(b, recording.EDFPlusC, samples)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Crossings(r, 0, Threshold{Level: 200}); err != nil {
			b.Fatal(err)
		}
	}
}
