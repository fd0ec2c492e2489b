package inference_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"calotte/topo/inference"
)

// The numbers of scipy and numpy, over all 64 arrangements of six people:
// testdata/inference/reference.py.
func TestEnhancedAgainstScipy(t *testing.T) {
	want := readReference(t).Enhanced
	d, err := inference.Paired(len(want.Data))
	if err != nil {
		t.Fatal(err)
	}
	row := [][]int{{1}, {0, 2}, {1}}
	got, err := inference.TestEnhanced(t.Context(), d, matrix(want.Data...), row,
		inference.Options{Arrangements: 64})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "t", got.T, want.T, 1e-12)
	near(t, "value", got.Value, want.Value, 1e-9)
	near(t, "corrected p", got.Corrected, want.Corrected, 1e-12)
}

// What is enhanced is what a flood at every height adds up to, on any graph.
func TestEnhancedByFlooding(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sites, samples := rapid.IntRange(1, 5).Draw(t, "sites"), rapid.IntRange(1, 5).Draw(t, "samples")
		neighbours := make([][]int, sites)
		for a := range sites {
			for b := range a {
				if rapid.Bool().Draw(t, "joined") {
					neighbours[a], neighbours[b] = append(neighbours[a], b), append(neighbours[b],
						a)
				}
			}
		}
		// few values, so that many points are equally high, or zero
		data := mat.NewDense(3, sites*samples, nil)
		data.Apply(func(_, _ int, _ float64) float64 {
			return float64(rapid.IntRange(-3, 3).Draw(t, "value"))
		}, data)
		d, err := inference.Paired(3)
		if err != nil {
			t.Fatal(err)
		}
		got, err := inference.TestEnhanced(t.Context(), d, data, neighbours, inference.Options{Arrangements: 8})
		if err != nil {
			t.Fatal(err)
		}
		for p, want := range flooded(got.T, neighbours, samples) {
			if math.Abs(got.Value[p]-want) > 1e-6 { // of infinite t up to 3e9
				t.Fatalf("point %d of %v: %g, want %g", p, got.T, got.Value[p], want)
			}
		}
	})
}

// flooded enhances by its definition: between two heights, the points above
// them are joined anew.
func flooded(t []float64, neighbours [][]int, samples int) []float64 {
	out := make([]float64, len(t))
	var heights []float64
	for _, v := range t {
		heights = append(heights, min(math.Abs(v), 1e3))
	}
	levels := slices.Compact(slices.Sorted(slices.Values(append([]float64{0}, heights...))))
	for k := 1; k < len(levels); k++ {
		low, high := levels[k-1], levels[k]
		for p, h := range heights {
			if h < high {
				continue
			}
			reached, queue := map[int]bool{p: true}, []int{p}
			for len(queue) > 0 {
				q := queue[0]
				queue = queue[1:]
				site, sample := q/samples, q%samples
				next := []int{}
				for _, n := range neighbours[site] {
					next = append(next, n*samples+sample)
				}
				if sample > 0 {
					next = append(next, q-1)
				}
				if sample+1 < samples {
					next = append(next, q+1)
				}
				for _, n := range next {
					if heights[n] >= high && t[n] > 0 == (t[p] > 0) && !reached[n] {
						reached[n] = true
						queue = append(queue, n)
					}
				}
			}
			out[p] += math.Copysign(math.Sqrt(float64(len(reached)))*(high*high*high-low*low*low)/3, t[p])
		}
	}
	return out
}

// A difference that all people share exactly has an infinite t, which counts as
// a very large one.
func TestEnhancedWithoutVariance(t *testing.T) {
	d, err := inference.Paired(5)
	if err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(1, 2))
	data := mat.NewDense(5, 6, nil)
	data.Apply(func(_, j int, _ float64) float64 {
		if j < 2 {
			return 1
		}
		return random.NormFloat64()
	}, data)
	got, err := inference.TestEnhanced(t.Context(), d, data, [][]int{{}, {}}, inference.Options{Arrangements: 32})
	if err != nil {
		t.Fatal(err)
	}
	if !math.IsInf(got.T[0], 1) || got.Value[0] != got.Value[1] || math.IsInf(got.Value[0], 0) ||
		got.Corrected[0] != 2./32 {
		t.Errorf("t %v, value %v, p %v", got.T[:2], got.Value[:2], got.Corrected[:2])
	}
}

func BenchmarkEnhanced(b *testing.B) {
	d, data, neighbours := noise(b)
	for b.Loop() {
		if _, err := inference.TestEnhanced(b.Context(), d, data, neighbours,
			inference.Options{Arrangements: 5000, Seed: 1}); err != nil {
			b.Fatal(err)
		}
	}
}
