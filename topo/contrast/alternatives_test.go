package contrast_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"

	"calotte/topo/contrast"
	"calotte/topo/inference"
)

// Every way is one of the combinations, once; a choice moves the mean by what
// was planted, and the joint test finds what all ways share.
func TestAlternatives(t *testing.T) {
	choices := []contrast.Choice{{"reference", []string{"average", "recorded"}},
		{"window", []string{"150..190ms", "160..180ms", "150..200ms"}}, {"of", []string{"P8", "PO8"}}}
	if n := contrast.Ways(choices); n != 12 {
		t.Fatalf("%d ways", n)
	}
	var seen [][]int
	scores := mat.NewDense(10, 12, nil)
	for way := range 12 {
		o := contrast.Options(choices, way)
		if slices.ContainsFunc(seen, func(other []int) bool { return slices.Equal(other, o) }) {
			t.Errorf("way %d is there twice: %v", way, o)
		}
		seen = append(seen, o)
		for person := range 10 {
			random := rand.New(rand.NewPCG(1, uint64(person)))
			scores.Set(person, way, -2-.5*float64(o[0])+.1*float64(o[1])+random.NormFloat64())
		}
	}
	found, err := contrast.Alternatives{Choices: choices, Scores: scores,
		Test: inference.Options{Arrangements: 2000, Seed: 1}}.Run(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for k, want := range []float64{.5, .2, 0} {
		if math.Abs(found.Moves[k]-want) > 1e-12 {
			t.Errorf("%s moves the mean by %g, want %g", choices[k].Name, found.Moves[k], want)
		}
	}
	for i, w := range found.Ways {
		if i > 0 && w.Mean < found.Ways[i-1].Mean || w.Low > w.Mean || w.High < w.Mean ||
			!slices.Equal(w.Options, contrast.Options(choices, w.Way)) {
			t.Errorf("%d: %+v", i, w)
		}
	}
	if found.Joint.MedianP != 2./1024 || found.Joint.Share != 1 || found.Joint.ShareP > .05 {
		t.Errorf("%+v", found.Joint)
	}
	if _, err := (contrast.Alternatives{Choices: choices[:2], Scores: scores}).Run(t.Context()); err == nil {
		t.Error("12 ways of two choices")
	}
}
