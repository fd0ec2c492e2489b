package paper

import (
	"math"
	"strconv"
	"strings"
)

// Number writes a value as text in a figure, with a true minus sign, rounded to
// the given number of significant digits.
func Number(v float64, digits int) string {
	if v != 0 {
		unit := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))+1-float64(digits))
		if rounded := math.Round(v/unit) * unit; !math.IsInf(rounded, 0) && !math.IsNaN(rounded) {
			v = rounded
		}
	}
	text := strconv.FormatFloat(v, 'g', digits, 64)
	if strings.Contains(text, "e") && math.Abs(v) < 1e6 && math.Abs(v) >= 1e-4 {
		text = strconv.FormatFloat(v, 'f', -1, 64)
	}
	return strings.Replace(text, "-", "−", 1)
}

// Percent is a share of an area, never rounded to nothing.
func Percent(share float64) string {
	if share < .001 {
		return "less than 0.1\u00a0%"
	}
	return Number(math.Round(share*1000)/10, 3) + "\u00a0%"
}
