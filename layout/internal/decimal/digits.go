package decimal

import (
	"math"
	"strconv"
)

// Digits writes a number with so many significant digits and without zeros at
// the end. All digits before the point are written, and no exponent, but for
// numbers that are no length of anything, of which a file may hold some with
// hundreds of zeros.
func Digits(v float64, significant int) string {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	if size := math.Abs(v); size < 1e-9 || size > 1e21 {
		return strconv.FormatFloat(v, 'g', significant, 64)
	}
	decimals := max(0, significant-1-int(math.Floor(math.Log10(math.Abs(v)))))
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', decimals, 64), 64)
	if err != nil {
		return strconv.FormatFloat(v, 'f', decimals, 64)
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}
