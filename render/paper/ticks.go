package paper

import "gonum.org/v1/plot/vg"

// TickText is a number at a tick.
func TickText(v float64) string { return Number(v, 6) }

// LabelEvery is the least number of ticks from one number to the next, a
// divisor of the number of ticks on a side of zero, that keeps numbers apart.
func LabelEvery(ticks []float64, side int, length vg.Length) int {
	for every := 1; every < side; every++ {
		if side%every != 0 {
			continue
		}
		room := length * vg.Length(every) / vg.Length(len(ticks)-1)
		fits := true
		for i := every; i < len(ticks); i += every {
			fits = fits && roomFor(ticks[i-every], ticks[i]) <= room
		}
		if fits {
			return every
		}
	}
	return side
}

// LengthForAll is how long a bar with numbers at all its ticks must be.
func LengthForAll(ticks []float64) vg.Length {
	var widest vg.Length
	for i := 1; i < len(ticks); i++ {
		widest = max(widest, roomFor(ticks[i-1], ticks[i]))
	}
	return widest * vg.Length(len(ticks)-1) * 1.001
}

// roomFor is how far apart the ticks of two neighbouring numbers must be.
func roomFor(a, b float64) vg.Length {
	return (Width(TickText(a))+Width(TickText(b)))/2 + .5*TextSize
}

// BarHeight is how high a bar of colours is.
const BarHeight = 7 * vg.Length(1)
