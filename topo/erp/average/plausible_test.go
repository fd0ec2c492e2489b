package average

import (
	"math"
	"testing"

	"calotte/topo/internal/erptest"
)

func TestCheckMicrovoltsOfNumbersThatAreNone(t *testing.T) {
	for _, v := range []float64{math.NaN(), math.Inf(-1)} {
		erptest.WantError(t, CheckMicrovolts([][]float64{{1, 2}, {3, v}}), "not finite")
	}
	if err := CheckMicrovolts([][]float64{{1e-16, 0}}); err != nil {
		t.Errorf("%v, want rounding to be let through", err)
	}
}
