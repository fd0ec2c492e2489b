package erp

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// The decisions on an event are those that a look at all of them finds, in their order.
func TestExclusionsOfAnEvent(t *testing.T) {
	source := rapid.SampledFrom([]string{"one.edf", "two.edf"})
	// Steps of a quarter of a sample at 100 Hz: half a sample away is still meant.
	onset := rapid.Custom(func(t *rapid.T) float64 { return float64(rapid.IntRange(-40, 40).Draw(t, "step")) / 400 })
	decision := rapid.Custom(func(t *rapid.T) Exclusion {
		return Exclusion{Source: source.Draw(t, "source"), Onset: onset.Draw(t, "onset")}
	})
	rapid.Check(t, func(t *rapid.T) {
		list := rapid.SliceOf(decision).Draw(t, "decisions")
		of, at, rate := source.Draw(t, "recording"), onset.Draw(t, "event"), rapid.SampledFrom([]float64{25, 100, 1000}).Draw(t, "rate")
		var want []int
		for i, x := range list {
			if x.is(of, at, rate) {
				want = append(want, i)
			}
		}
		if got := newExclusions(list).of(of, at, rate); !slices.Equal(got, want) {
			t.Errorf("found %v, want %v", got, want)
		}
	})
}
