package contrast_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/topo/contrast"
)

// Of caps that sit off as far as is bearable, 95 of 100 change the pair by less
// than the effect: drawn are 4,000 of them, for pairs of a field of five
// dipoles. What is bearable without bounds is farther than can be told.
func TestPlacementNeeded(t *testing.T) {
	h := newCappedHead(t)
	random := rand.New(rand.NewPCG(3, 9))
	values := fieldOf(t, random, 5, .7, positions(h.sites))
	i := 0
	avg := averageOf(h.sites, func(r3.Vec) float64 { i++; return values[i-1] })
	typical, err := contrast.NewTypicalMap(h.spline, avg, start[0])
	if err != nil {
		t.Fatal(err)
	}
	c, err := h.spline.Solve(mat.NewVecDense(len(values), values))
	if err != nil {
		t.Fatal(err)
	}
	need := contrast.PlacementNeed{Effect: .2}
	limit := need.Limit(contrast.Asymmetry{})
	for _, left := range []string{"P7", "C3", "O1"} {
		within, err := typical.Farthest(h.pairs[left], limit)
		if err != nil || math.IsNaN(within) {
			t.Fatal(within, err)
		}
		var bears coverage
		for range 4000 {
			change := h.pairs[left].Changes(h.spline, c, []r3.Vec{drawPose(random, within)}).At(0, 0)
			bears.count(math.Abs(change) < need.Effect)
		}
		if v := bears.share(); v < .93 || v > .97 {
			t.Errorf("%s: of caps that sit off by %.2f mm %.3f bear it, want .95", left, within, v)
		}
		if far, err := typical.Farthest(h.pairs[left], 1e3); err != nil || !math.IsNaN(far) {
			t.Errorf("%s: %g mm, %v: want none within reach", left, far, err)
		}
	}
	if got := (contrast.PlacementNeed{}).Limit(contrast.Asymmetry{SEM: .4}); got != .4 {
		t.Errorf("beside the noise %g µV are bearable, want .4", got)
	}
}
