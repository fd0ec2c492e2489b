package epoch

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"calotte/topo/erp/internal/matrix"
	"calotte/topo/internal/erptest"
)

// The numbers of numpy and scipy (testdata/erp/moments.py), at offsets of up to
// 10⁸ times the noise.
func TestAccumulatorAgainstScipy(t *testing.T) {
	for _, row := range erptest.Rows(t, "moments.tsv") {
		x := erptest.Numbers(t, row)
		mean, sem, values := x[0], x[1], x[2:]
		a := NewAccumulator(1, 1)
		for _, v := range values {
			a.Add([][]float64{{v}})
		}
		rounding := 1e-15 * math.Abs(mean)
		if got := a.Mean()[0][0]; !erptest.Near(got, mean, 2*rounding+1e-14) {
			t.Errorf("mean %v, want %v", got, mean)
		}
		// Each value is off by a rounding of the offset; the noise is
		// 10 µV.
		if got := a.SEM()[0][0]; !erptest.Near(got, sem, rounding+1e-13) {
			t.Errorf("around %.3g: SEM %v, want %v", mean, got, sem)
		}
	}
}

// traces draws some epochs of one shape.
func traces(t *rapid.T, rows, samples int) [][][]float64 {
	out := make([][][]float64, rapid.IntRange(0, 12).Draw(t, "traces"))
	for k := range out {
		out[k] = matrix.New(rows, samples)
		for i := range out[k] {
			for j := range out[k][i] {
				out[k][i][j] = rapid.Float64Range(-1e3, 1e3).Draw(t, "value")
			}
		}
	}
	return out
}

func accumulate(rows, samples int, traces [][][]float64) *Accumulator {
	a := NewAccumulator(rows, samples)
	for _, trace := range traces {
		a.Add(trace)
	}
	return a
}

// twoPass is mean and SEM by the definition.
func twoPass(traces [][][]float64, i, j int) (mean, sem float64) {
	n := float64(len(traces))
	for _, trace := range traces {
		mean += trace[i][j] / n
	}
	squares := 0.0
	for _, trace := range traces {
		d := trace[i][j] - mean
		squares += d * d
	}
	return mean, math.Sqrt(squares/(n-1)) / math.Sqrt(n)
}

func TestMergeEqualsAdding(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const rows, samples = 2, 3
		first, second := traces(t, rows, samples), traces(t, rows, samples)
		all := append(append([][][]float64{}, first...), second...)
		merged := accumulate(rows, samples, first)
		if err := merged.Merge(accumulate(rows, samples, second)); err != nil {
			t.Fatal(err)
		}
		one := accumulate(rows, samples, all)
		if merged.N() != len(all) || one.N() != len(all) {
			t.Fatalf("%d and %d traces, want %d", merged.N(), one.N(), len(all))
		}
		for i := range rows {
			for j := range samples {
				mean, sem := 0.0, math.NaN()
				if len(all) > 0 {
					mean, sem = twoPass(all, i, j)
				}
				for _, a := range []*Accumulator{merged, one} {
					if got := a.Mean()[i][j]; !erptest.Near(got, mean, 1e-12) {
						t.Fatalf("mean %v, want %v", got, mean)
					}
					if len(all) < 2 {
						if a.SEM() != nil {
							t.Fatal("a single trace has a standard error")
						}
						continue
					}
					if got := a.SEM()[i][j]; !erptest.Near(got, sem, 1e-11) {
						t.Fatalf("SEM %v, want %v", got, sem)
					}
				}
			}
		}
	})
}

func TestMeanIsACopy(t *testing.T) {
	a := accumulate(1, 2, [][][]float64{{{1, 2}}, {{3, 4}}})
	a.Mean()[0][0], a.SEM()[0][0] = 99, 99
	if a.Mean()[0][0] != 2 || a.SEM()[0][0] != 1 {
		t.Errorf("mean %v, SEM %v, want 2 and 1", a.Mean()[0][0], a.SEM()[0][0])
	}
}

func TestMergeRefusesOtherShapes(t *testing.T) {
	a := NewAccumulator(2, 3)
	for _, b := range []*Accumulator{NewAccumulator(3, 2), NewAccumulator(2, 4), NewAccumulator(1, 3)} {
		erptest.WantError(t, a.Merge(b), "cannot be merged with 2 × 3")
	}
}

func TestAddPanicsOnOtherShapes(t *testing.T) {
	for _, trace := range [][][]float64{nil, {{1, 2}}, {{1, 2}, {1, 2}}, {{1, 2, 3}, {1, 2, 3, 4}}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%v was added to 2 × 3 values", trace)
				}
			}()
			NewAccumulator(2, 3).Add(trace)
		}()
	}
}

// Averaging n epochs of white noise leaves noise of sd/√n (common practice, no
// source), and the standard error says so. Over 2,000 samples the root mean
// square of the residual has a relative sd of 1/√4000 = 1.6 %, that of the SEM
// at 30 epochs one of 0.3 %: the bounds are more than four and nine of these.
func TestNoiseFallsWithTheRootOfN(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const samples, sd = 2000, 10.0
		n := rapid.IntRange(30, 100).Draw(t, "epochs")
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		a := NewAccumulator(1, samples)
		trace := matrix.New(1, samples)
		for range n {
			for j := range trace[0] {
				trace[0][j] = sd * rng.NormFloat64()
			}
			a.Add(trace)
		}
		power := func(row []float64) float64 {
			sum := 0.0
			for _, x := range row {
				sum += x * x
			}
			return math.Sqrt(sum / samples)
		}
		want := sd / math.Sqrt(float64(n))
		if got := power(a.Mean()[0]); math.Abs(got/want-1) > 0.07 {
			t.Fatalf("%d epochs leave %.3f µV, want %.3f", n, got, want)
		}
		if got := power(a.SEM()[0]); math.Abs(got/want-1) > 0.03 {
			t.Fatalf("%d epochs have a standard error of %.3f µV, want %.3f", n, got, want)
		}
	})
}
