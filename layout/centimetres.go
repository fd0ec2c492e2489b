package layout

import (
	"math"
	"strconv"
)

// Centimetres writes a length in mm as cm with one decimal, as a tape is read.
// Halves of a mm, which rules and tapes give often, go up whatever their last
// bits are: 36.5 mm are 3.7 cm.
func Centimetres(mm float64) string {
	const bits = 1e-6
	return strconv.FormatFloat(math.Floor(mm+0.5+bits)/10, 'f', 1, 64)
}
