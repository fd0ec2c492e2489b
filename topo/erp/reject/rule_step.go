package reject

import "math"

// A Step rejects a site that jumps: a window of twice Half samples slides over
// the epoch sample by sample, and the mean of its second half may not differ
// from that of its first half by more than the limit, in µV. Steps of 30 µV or
// so between halves of 100 ms are what a saccade leaves in an eye channel and
// what a slipping electrode leaves anywhere (common practice, no source). An
// epoch that is shorter than the window has no step.
type Step struct {
	Limits Limits
	Half   int // samples
}

// Reason is [StepReason].
func (Step) Reason() string { return StepReason }

// Measure returns the largest step.
func (s Step) Measure(site int, row []float64) (value, limit float64, broken bool) {
	value, limit = StepOf(row, s.Half), s.Limits.of(site)
	return value, limit, !(value <= limit)
}

// StepOf is the largest difference, either way, between the means of two
// neighbouring stretches of half samples each: 0 for a row of fewer than twice
// as many or none, NaN where a sample is not finite.
func StepOf(row []float64, half int) float64 {
	if math.IsNaN(SwingOf(row)) {
		return math.NaN()
	}
	if half < 1 || len(row) < 2*half {
		return 0
	}
	// Sums of what is left after the first sample: electrodes may stand far
	// from zero.
	level, before, after := row[0], 0.0, 0.0
	for t := range half {
		before += row[t] - level
		after += row[t+half] - level
	}
	largest := math.Abs(after - before)
	for t := 2 * half; t < len(row); t++ {
		middle := row[t-half] - level
		before += middle - (row[t-2*half] - level)
		after += row[t] - level - middle
		largest = max(largest, math.Abs(after-before))
	}
	return largest / float64(half)
}
