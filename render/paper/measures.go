package paper

import (
	"math"

	"gonum.org/v1/plot/vg"
)

const (
	// Margin is left free around a page.
	Margin = 4 * vg.Length(1)
	// DefaultWidth is that of a page of a journal.
	DefaultWidth = 180 * MM
	// TickLength is how long a tick at a bar or an axis is.
	TickLength = 2 * vg.Length(1)
	// RowGap parts rows of maps or of charts.
	RowGap = 8 * vg.Length(1)
	// Swatch is the width of a sample in a legend.
	Swatch = 9 * vg.Length(1)
	// Pixel is the size of a picture element at 300 to the inch, which
	// pages are laid out on. A field is drawn as fine as its canvas asks.
	Pixel = vg.Inch / 300
	// MM is a millimetre.
	MM = vg.Millimeter
)

// Snapped is the nearest whole number of picture elements.
func Snapped(l vg.Length) vg.Length { return Pixel * vg.Length(math.Round(float64(l/Pixel))) }
