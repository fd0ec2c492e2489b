package layout

import (
	"fmt"
	"math"
)

// SignedTenths writes a deviation with one decimal and a true sign, none at
// zero.
func SignedTenths(v float64) string {
	switch text := fmt.Sprintf("%.1f", math.Abs(v)); {
	case text == "0.0":
		return text
	case v < 0:
		return "−" + text
	default:
		return "+" + text
	}
}
