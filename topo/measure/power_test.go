package measure

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// A constant added at all sites, which is what another reference does, changes
// nothing; a factor changes the power by its size.
func TestFieldPowerOfShiftedAndScaledMaps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Float64Range(-100, 100), 1, 64).Draw(t, "values")
		shift := rapid.Float64Range(-100, 100).Draw(t, "shift")
		factor := rapid.Float64Range(-10, 10).Draw(t, "factor")
		other := make([]float64, len(values))
		for i, v := range values {
			other[i] = factor*v + shift
		}
		want := math.Abs(factor) * FieldPower(values)
		if got := FieldPower(other); math.Abs(got-want) > 1e-10*(1+want) {
			t.Fatalf("got %v, want %v", got, want)
		}
	})
}

func TestFieldPowerOfNoSites(t *testing.T) {
	if got := FieldPower(nil); !math.IsNaN(got) {
		t.Errorf("got %v, want NaN", got)
	}
}

func ExampleFieldPower() {
	fmt.Println(FieldPower([]float64{2, 4, 4, 4, 5, 5, 7, 9}))
	// Output: 2
}
