package measure

import (
	"fmt"
	"testing"

	"calotte/topo/unit"
)

func TestBaselinePowerOutsideTheData(t *testing.T) {
	if got := BaselinePower([]float64{0, 1}, [][]float64{{1, 2}, {3, 5}}, unit.Span{From: -2, To: -1}); got != 0 {
		t.Errorf("got %v, want 0", got)
	}
}

// Two samples lie in the baseline: the field power is 1 in the first and 3 in
// the second.
func ExampleBaselinePower() {
	times := []float64{-0.2, -0.1, 0, 0.1}
	values := [][]float64{
		{9, 4, 7, 1},
		{1, 2, 1, 8},
	}
	fmt.Println(BaselinePower(times, values, unit.Span{From: -0.1, To: 0}))
	// Output: 2
}
