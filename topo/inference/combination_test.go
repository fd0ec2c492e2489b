package inference_test

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"calotte/topo/inference"
)

// The mean of one group, the difference of two and the mean of two means, by
// scipy and numpy: the interactions and the main effect of
// testdata/inference/factors.py.
func TestCombinationAgainstScipy(t *testing.T) {
	type effect struct{ Value, SE, T, Freedom, Low, High, P float64 }
	var want struct {
		Within struct {
			People  [][]float64
			Effects []effect
		}
		Groups struct {
			People  [2][][]float64
			Effects []effect
		}
	}
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "inference", "factors.json"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &want); err != nil {
		t.Fatal(err)
	}
	contrast := func(people [][]float64, weights ...float64) (out []float64) {
		for _, cells := range people {
			sum := 0.
			for i, w := range weights {
				sum += w * cells[i]
			}
			out = append(out, sum)
		}
		return out
	}
	one, two := want.Groups.People[0], want.Groups.People[1]
	const mainOfFirst, interaction = 4, 10 // in the order of the script
	for name, c := range map[string]struct {
		groups  [][]float64
		weights []float64
		want    effect
		least   float64
	}{
		"one group": {[][]float64{contrast(want.Within.People, 1, -1, -1, 1)}, []float64{1},
			want.Within.Effects[interaction], 2. / 128},
		"difference": {[][]float64{contrast(one, 1, -1), contrast(two, 1, -1)}, []float64{1, -1},
			want.Groups.Effects[interaction], 1. / 126},
		"mean of means": {[][]float64{contrast(one, 1, -1), contrast(two, 1, -1)}, []float64{.5, .5},
			want.Groups.Effects[mainOfFirst], 2. / 512},
	} {
		got, err := inference.TestCombination(t.Context(), c.groups, c.weights,
			inference.Options{Arrangements: 1000})
		if err != nil {
			t.Fatal(err)
		}
		near(t, name, []float64{got.Value, got.SE, got.T, got.Freedom, got.Low, got.High, got.P},
			[]float64{c.want.Value, c.want.SE, c.want.T, c.want.Freedom, c.want.Low, c.want.High,
				c.want.P}, 1e-9)
		if !got.Exact || got.Smallest != c.least {
			t.Errorf("%s: exact %v, smallest p %g, want %g", name, got.Exact, got.Smallest, c.least)
		}
		if untested, err := inference.Combine(c.groups, c.weights); err != nil || untested.Low != got.Low ||
			!math.IsNaN(untested.P) {
			t.Errorf("%s: untested %+v, %v", name, untested, err)
		}
	}
}

// Under the null hypothesis a combination errs as often as it says, groups that
// vary differently included, and its interval holds what was planted: counts of
// 2,000 and 1,000 sets, as the documentation has them.
func TestCombinationErrsAsItSays(t *testing.T) {
	const sets, planted, truth = 2000, 1000, .8
	for k, c := range []struct {
		name    string
		sizes   []int
		spread  []float64
		weights []float64
	}{
		{"one group", []int{12}, []float64{1}, []float64{1}},
		{"mean of means", []int{7, 9}, []float64{1, 1}, []float64{.5, .5}},
		{"difference", []int{7, 9}, []float64{1, 1}, []float64{1, -1}},
		{"difference of unlike groups", []int{7, 9}, []float64{3, 1}, []float64{1, -1}},
	} {
		shown, common, held := 0, 0, 0
		for set := range sets {
			random := rand.New(rand.NewPCG(uint64(k)+40, uint64(set)))
			o := inference.Options{Arrangements: 999, Seed: uint64(set)}
			groups := make([][]float64, len(c.sizes))
			var column [][]float64
			for g, n := range c.sizes {
				for range n {
					v := c.spread[g] * random.NormFloat64()
					groups[g], column = append(groups[g], v), append(column, []float64{v})
				}
			}
			got, err := inference.TestCombination(t.Context(), groups, c.weights, o)
			if err != nil {
				t.Fatal(err)
			}
			if got.P <= .05 {
				shown++
			}
			if c.weights[0] == 1 && len(c.sizes) == 2 { // beside t with a common variance
				d, err := inference.Groups(c.sizes[0], c.sizes[1])
				if err != nil {
					t.Fatal(err)
				}
				pooled, err := inference.TestLargest(t.Context(), d, matrix(column...), o)
				if err != nil {
					t.Fatal(err)
				}
				if pooled.P[0] <= .05 {
					common++
				}
			}
			if set < planted {
				for i := range groups[0] {
					groups[0][i] += truth / c.weights[0]
				}
				moved, err := inference.Combine(groups, c.weights)
				if err != nil {
					t.Fatal(err)
				}
				if moved.Low <= truth && truth <= moved.High {
					held++
				}
			}
		}
		rate, share := float64(shown)/sets, float64(held)/planted
		t.Logf("%s: p .05 or less %d of %d, with a common variance %d, held %d of %d", c.name, shown, sets,
			common, held, planted)
		if rate < .037 || rate > .063 {
			t.Errorf("%s: %.4f of null sets have a p of .05 or less", c.name, rate)
		}
		if share < .93 || share > .97 {
			t.Errorf("%s: %.4f of intervals hold what was planted", c.name, share)
		}
	}
}

// Drawn arrangements give the same p each time, and what cannot be combined is
// told.
func TestCombinationRefusals(t *testing.T) {
	o := inference.Options{Arrangements: 50, Seed: 1}
	many := []float64{1, 2, .5, -1, 3, 1, 2, -.2, 1.1, .7}
	one, err := inference.TestCombination(t.Context(), [][]float64{many}, []float64{1}, o)
	if err != nil || one.Exact || one.Smallest != 1./51 {
		t.Fatalf("%+v, %v", one, err)
	}
	if again, err := inference.TestCombination(t.Context(), [][]float64{many}, []float64{1}, o); err != nil ||
		again != one {
		t.Errorf("%+v, then %+v, %v", one, again, err)
	}
	// All alike: t is infinite, in both the identity and its mirror image.
	same, err := inference.TestCombination(t.Context(), [][]float64{{2, 2, 2}}, []float64{1}, o)
	if err != nil || !math.IsInf(same.T, 1) || same.P != .25 || same.Low != 2 || same.High != 2 {
		t.Errorf("%+v, %v", same, err)
	}
	for want, c := range map[string]struct {
		groups       [][]float64
		weights      []float64
		arrangements int
	}{
		"a group of 1":      {[][]float64{{1}}, []float64{1}, 50},
		"the value NaN":     {[][]float64{{1, math.NaN()}}, []float64{1}, 50},
		"2 groups and 1":    {[][]float64{{1, 2}, {1, 2}}, []float64{1}, 50},
		"no group has a":    {[][]float64{{1, 2}}, []float64{0}, 50},
		"by 0 arrangements": {[][]float64{{1, 2}}, []float64{1}, 0},
	} {
		_, err := inference.TestCombination(t.Context(), c.groups, c.weights,
			inference.Options{Arrangements: c.arrangements})
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v does not say %q", err, want)
		}
	}
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := inference.TestCombination(ended, [][]float64{many}, []float64{1}, o); !errors.Is(err,
		context.Canceled) {
		t.Errorf("%v, want the error of the context", err)
	}
}
