package reject

import (
	"math"

	"calotte/topo/recording"
)

// A Clipped rejects a site that stays at an end of its range for so many
// samples on end. Low and High are one a site.
type Clipped struct {
	Low, High Limits // what counts as the ends, in the unit of the samples
	Samples   int
}

// NewClipped takes the ends of the range from the header: a sample within half
// a digital step of the signal's extreme is at it; where no range is stated, as
// of an array, none is. Samples are expected in the
// signals' own units. Some amplifiers saturate inside the range that the header
// states; give the ends yourself for those.
func NewClipped(signals []recording.Signal, samples int) Clipped {
	c := Clipped{Samples: samples}
	for _, s := range signals {
		low, high, step := min(s.PhysicalMin, s.PhysicalMax), max(s.PhysicalMin, s.PhysicalMax), s.Step()
		if math.IsNaN(step) {
			low, high, step = math.Inf(-1), math.Inf(1), 0
		}
		c.Low, c.High = append(c.Low, low+step/2), append(c.High, high-step/2)
	}
	return c
}

// Reason is [ClippedReason].
func (Clipped) Reason() string { return ClippedReason }

// Measure returns the length of the longest stay, in samples.
func (c Clipped) Measure(site int, row []float64) (value, limit float64, broken bool) {
	longest := 0
	c.stays(site, row, func(length int) { longest = max(longest, length) })
	broken = c.Samples > 0 && longest >= c.Samples || math.IsNaN(SwingOf(row))
	return float64(longest), float64(c.Samples), broken
}

// Count is how many samples of the row belong to stays at an end that are long
// enough to count.
func (c Clipped) Count(site int, row []float64) int {
	n := 0
	c.stays(site, row, func(length int) {
		if c.Samples > 0 && length >= c.Samples {
			n += length
		}
	})
	return n
}

// stays calls found with the length of each stay. Going from one end straight
// to the other begins another.
func (c Clipped) stays(site int, row []float64, found func(length int)) {
	if len(c.Low) == 0 || len(c.High) == 0 {
		return
	}
	low, high := c.Low.of(site), c.High.of(site)
	if !touches(row, low, high) {
		return // almost always
	}
	end, length := 0, 0
	for _, x := range row {
		at := 0
		switch {
		case x <= low:
			at = -1
		case x >= high:
			at = 1
		}
		if at != end {
			if end != 0 {
				found(length)
			}
			end, length = at, 0
		}
		length++
	}
	if end != 0 {
		found(length)
	}
}

// touches reports whether a sample lies at an end, or beyond it.
func touches(row []float64, low, high float64) bool {
	for _, x := range row {
		if x <= low || x >= high {
			return true
		}
	}
	return false
}
