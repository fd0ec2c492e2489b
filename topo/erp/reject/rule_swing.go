package reject

import "math"

// A Swing rejects a site whose peak-to-peak amplitude, in µV, exceeds its
// limit.
type Swing struct{ Limits Limits }

// Reason is [PeakToPeak].
func (Swing) Reason() string { return PeakToPeak }

// Measure returns the largest minus the least sample.
func (s Swing) Measure(site int, row []float64) (value, limit float64, broken bool) {
	return s.Hold(site, SwingOf(row))
}

// Hold is Measure of an amplitude that is known.
func (s Swing) Hold(site int, value float64) (_, limit float64, broken bool) {
	limit = s.Limits.of(site)
	return value, limit, !(value <= limit)
}

// SwingOf is the peak-to-peak amplitude of a row; NaN where a sample is not
// finite.
func SwingOf(row []float64) float64 {
	if len(row) == 0 {
		return 0
	}
	lowest, highest := row[0], row[0]
	for _, x := range row {
		if x > highest {
			highest = x
		} else if !(x >= lowest) { // NaN included
			if math.IsNaN(x) {
				return x
			}
			lowest = x
		}
	}
	if swing := highest - lowest; !math.IsInf(swing, 0) {
		return swing // NaN where the first sample is, or all are infinite
	}
	return math.NaN()
}
