package contrast_test

import (
	"math"
	"testing"

	"calotte/topo/contrast"
)

func TestSigned(t *testing.T) {
	for v, want := range map[float64]string{-.001: "0.00", .001: "0.00", -.006: "−0.01", -1.364: "−1.36",
		2: "2.00"} {
		if got := contrast.Signed(v); got != want {
			t.Errorf("%g is %q, want %q", v, got, want)
		}
	}
}

// What has no standard error stands out least, wherever it is in the list.
func TestStandOut(t *testing.T) {
	list := []contrast.Asymmetry{{Left: "C3", Difference: 1, SEM: 1}, {Left: "F3", Difference: 1, SEM: math.NaN()},
		{Left: "P7", Difference: -9, SEM: 1}, {Left: "O1", Difference: 2, SEM: 1}}
	shown := contrast.StandOut(list, 2)
	if len(shown) != 2 || shown[0].Left != "P7" || shown[1].Left != "O1" {
		t.Errorf("%+v", shown)
	}
}
