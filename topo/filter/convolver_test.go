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
