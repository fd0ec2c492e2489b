package inference_test

import (
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"calotte/topo/inference"
)

// Without an effect the joint tests err as often as they say, and seldom more:
// the share of few ways is coarse.
func TestJointFalsePositives(t *testing.T) {
	const sets = 2000
	d, err := inference.Paired(12)
	if err != nil {
		t.Fatal(err)
	}
	for _, ways := range []int{12, 48} {
		medians, shares := 0, 0
		for set := range sets {
			random := rand.New(rand.NewPCG(uint64(ways), uint64(set)))
			data := mat.NewDense(12, ways, nil)
			for i := range 12 { // ways of one difference agree, for the most part
				shared := random.NormFloat64()
				for j := range ways {
					data.Set(i, j, shared+.6*random.NormFloat64())
				}
			}
			out, err := inference.TestJoint(t.Context(), d, data, .05, inference.Options{Arrangements: 499, Seed: 2})
			if err != nil {
				t.Fatal(err)
			}
			if out.MedianP <= .05 {
				medians++
			}
			if out.ShareP <= .05 {
				shares++
			}
		}
		t.Logf("%d ways: %.4f by the median, %.4f by the share", ways, float64(medians)/sets, float64(shares)/sets)
		for name, n := range map[string]int{"median": medians, "share": shares} {
			if rate := float64(n) / sets; rate < .037 || rate > .063 {
				t.Errorf("%d ways: %.4f by the %s", ways, rate, name)
			}
		}
	}
}
