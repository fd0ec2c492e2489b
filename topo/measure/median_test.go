package measure

import (
	"math"
	"slices"
	"testing"
)

func TestMedian(t *testing.T) {
	for _, c := range []struct {
		values []float64
		want   float64
	}{
		{nil, math.NaN()}, {[]float64{3}, 3}, {[]float64{5, 1}, 3}, {[]float64{9, 1, 2}, 2},
		{[]float64{4, 1, 3, 2}, 2.5},
	} {
		before := slices.Clone(c.values)
		if got := Median(c.values); got != c.want && !(math.IsNaN(got) && math.IsNaN(c.want)) {
			t.Errorf("median of %v is %v, want %v", c.values, got, c.want)
		}
		if !slices.Equal(before, c.values) {
			t.Errorf("%v became %v", before, c.values)
		}
	}
}
