package decimal

import (
	"math"
	"testing"
)

func TestDigits(t *testing.T) {
	for _, c := range []struct {
		v    float64
		n    int
		want string
	}{
		{1650, 3, "1650"}, {1654.7, 3, "1655"}, {148.63, 4, "148.6"}, {0.14863, 4, "0.1486"},
		{437.81, 5, "437.81"},
		{36, 3, "36"}, {36.50, 4, "36.5"},
		{0, 3, "0"}, {9.999, 3, "10"}, {1e20, 3, "100000000000000000000"}, {1.6e-299, 4, "1.6e-299"},
		{-1e300, 3, "-1e+300"}, {-2.345, 2, "-2.3"}, {math.NaN(), 3, "NaN"}, {math.Inf(1), 3, "+Inf"},
	} {
		if got := Digits(c.v, c.n); got != c.want {
			t.Errorf("%d digits of %g: %s, want %s", c.n, c.v, got, c.want)
		}
	}
}
