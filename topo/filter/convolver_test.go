package filter

import (
	"math"
	"math/rand/v2"
	"testing"
)

func TestConvolver(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, size := range []int{16, 32, 64, 128, 256, 512, 1024, 2048} {
		half := make([]float64, size/4+1)
		for i := range half {
			half[i] = rng.NormFloat64()
		}
		a, b := make([]float64, size), make([]float64, size)
		for i := range a {
			a[i], b[i] = rng.NormFloat64(), rng.NormFloat64()
		}
		direct := func(x []float64) []float64 {
			y := make([]float64, size)
			for i := range y {
				y[i] = half[0] * x[i]
				for k := 1; k < len(half); k++ {
					y[i] += half[k] * (x[(i+k)%size] + x[(i-k+size)%size])
				}
			}
			return y
		}
		wa, wb := direct(a), direct(b)
		newConvolver(size, half).pair(a, b)
		for i := range a {
			if e := max(math.Abs(a[i]-wa[i]), math.Abs(b[i]-wb[i])); e > 1e-12 {
				t.Fatalf("size %d sample %d: error %g", size, i, e)
			}
		}
	}
}

func TestWindowSize(t *testing.T) {
	const hour = 3600 * 500
	for _, c := range []struct {
		taps    int
		lengths []int
		want    int
	}{
		{16721, []int{hour}, 65536},
		{16721, []int{9000}, 32768},       // one window holds all
		{16721, []int{hour, 9000}, 65536}, // the long one counts
		{221, []int{hour}, 1024},
		{18371, []int{hour}, 65536}, // with a notch
		{3, []int{5}, 16},
	} {
		if got := windowSize(c.taps, c.lengths); got != c.want {
			t.Errorf("%d taps, segments of %d: window of %d, want %d", c.taps, c.lengths, got, c.want)
		}
	}
}
