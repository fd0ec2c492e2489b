package study

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Rounding differs between processors. It must not choose another background.
func TestBackgroundDoesNotHangOnTheLastBit(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	rows := make([][]float64, 200)
	other := make([][]float64, len(rows))
	for i := range rows {
		rows[i], other[i] = make([]float64, sensorCount), make([]float64, sensorCount)
		peak := rng.Float64() * sensorCount
		for j := range rows[i] {
			d := (float64(j) - peak) / 8
			rows[i][j] = rng.NormFloat64() * math.Exp(-d*d)
			other[i][j] = rows[i][j] * (1 + 4e-16*rng.NormFloat64())
		}
	}
	a, err := principal(rows)
	if err != nil {
		t.Fatal(err)
	}
	b, err := principal(other)
	if err != nil || len(a) != len(b) {
		t.Fatalf("%d and %d patterns (%v)", len(a), len(b), err)
	}
	for k := range a {
		sum := 0.0
		for j := range a[k] {
			if math.Abs(a[k][j]-b[k][j]) > 1e-9 {
				t.Errorf("pattern %d, sensor %d: %g and %g", k, j, a[k][j], b[k][j])
			}
			sum += a[k][j]
		}
		if sum < 0 {
			t.Errorf("pattern %d has a negative sum: its sign is left to chance", k)
		}
	}
}
