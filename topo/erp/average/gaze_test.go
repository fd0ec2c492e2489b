package average_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat"

	"calotte/topo/erp/average"
)

// Of 1,000 planted pairs of conditions, with unequal numbers of epochs and
// spreads, the 95 % interval of their difference held the truth in 944 (20 and
// 35 epochs) and 958 (5 and 60), that of one condition in 959 and 958.
func TestGazeIntervalsCover(t *testing.T) {
	for _, c := range []struct {
		n, o int
		s, r float64
	}{{20, 35, 10, 20}, {5, 60, 20, 8}} {
		rng := rand.New(rand.NewPCG(4, uint64(c.n)))
		window := func(n int, mean, sd float64) average.GazeWindow {
			values := make([]float64, n)
			for i := range values {
				values[i] = mean + sd*rng.NormFloat64()
			}
			m, s := stat.MeanStdDev(values, nil)
			return average.GazeWindow{Mean: m, SEM: s / math.Sqrt(float64(n)), N: n}
		}
		both, single := 0, 0
		for range 1000 {
			a, b := window(c.n, 7, c.s), window(c.o, 3, c.r)
			if _, low, high, ok := a.Less(b); ok && low <= 4 && high >= 4 {
				both++
			}
			if _, low, high, ok := a.Interval(); ok && low <= 7 && high >= 7 {
				single++
			}
		}
		t.Logf("%d and %d epochs: %d, %d", c.n, c.o, both, single)
		if both < 930 || both > 970 || single < 930 || single > 970 {
			t.Errorf("%d and %d epochs: %d and %d of 1,000 intervals hold the truth", c.n, c.o, both,
				single)
		}
	}
	if _, _, _, ok := (average.GazeWindow{N: 1}).Less(average.GazeWindow{N: 20, SEM: 1}); ok {
		t.Error("one epoch has an interval")
	}
}
