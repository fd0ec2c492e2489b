package canvas

import "math"

// dashes cuts a line into the dashes of a pattern of lengths, on and off in
// turn; a pattern of odd length counts twice, as in SVG and PDF. The offset is
// where in the pattern the line begins. No pattern: the line as it is.
func dashes(l polyline, pattern []float64, offset float64) []polyline {
	if len(pattern) == 0 {
		return []polyline{l}
	}
	if len(pattern)%2 == 1 {
		pattern = append(append([]float64(nil), pattern...), pattern...)
	}
	points := l.points
	if l.closed {
		points = append(append([]point(nil), points...), points[0])
	}
	index, left := dashStart(pattern, offset)
	var cut []polyline
	at := points[0]
	dash := []point{at}
	for _, to := range points[1:] {
		length := math.Hypot(to.x-at.x, to.y-at.y)
		for length > left {
			at = point{at.x + (to.x-at.x)*left/length, at.y + (to.y-at.y)*left/length}
			length -= left
			if index%2 == 0 {
				cut = append(cut, polyline{points: append(dash, at)})
			}
			dash = []point{at}
			index = (index + 1) % len(pattern)
			left = pattern[index]
		}
		left -= length
		at = to
		dash = append(dash, at)
	}
	if index%2 == 0 && len(dash) > 1 {
		cut = append(cut, polyline{points: dash})
	}
	return cut
}

// dashStart finds the piece of the pattern at an offset and what is left of it.
func dashStart(pattern []float64, offset float64) (index int, left float64) {
	sum := 0.0
	for _, l := range pattern {
		sum += l
	}
	if offset = math.Mod(offset, sum); offset < 0 {
		offset += sum
	}
	for index < len(pattern)-1 && offset >= pattern[index] {
		offset -= pattern[index]
		index++
	}
	return index, max(0, pattern[index]-offset)
}
