package filter

import (
	"fmt"
	"math"
	"math/rand/v2"
	"syscall"
	"testing"
)

func TestConvolver(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, size := range []int{4, 8, 16, 32, 64, 128, 256, 1024, 2048} {
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

func user() float64 {
	var u syscall.Rusage
	syscall.Getrusage(syscall.RUSAGE_SELF, &u)
	return float64(u.Utime.Nano())
}

func BenchmarkConvolver(b *testing.B) {
	for _, size := range []int{1024, 2048, 4096, 16384, 65536, 131072} {
		b.Run(fmt.Sprint(size), func(b *testing.B) {
			c := newConvolver(size, []float64{1})
			x, y := make([]float64, size), make([]float64, size)
			for i := range x {
				x[i], y[i] = float64(i%7), float64(i%5)
			}
			u := user()
			for b.Loop() {
				c.pair(x, y)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(2*size), "ns/sample")
			b.ReportMetric((user()-u)/float64(b.N)/float64(2*size), "userns/sample")
		})
	}
}
