package reject

import "math"

// A Flat rejects a site that stands still: over some stretch of so many
// samples, its peak-to-peak amplitude does not exceed the limit, in µV. A limit
// of 0 finds samples that repeat. Without limits nothing is flat.
type Flat struct {
	Limits  Limits
	Samples int // of the stretch
}

// Reason is [FlatReason].
func (Flat) Reason() string { return FlatReason }

// Measure returns the least peak-to-peak amplitude of any stretch.
func (f Flat) Measure(site int, row []float64) (value, limit float64, broken bool) {
	if len(f.Limits) == 0 {
		return StillestOf(row, f.Samples), math.Inf(-1), false
	}
	value, limit = StillestOf(row, f.Samples), f.Limits.of(site)
	return value, limit, !(value > limit)
}

// StillestOf is the least peak-to-peak amplitude of so many samples in a row:
// +Inf for a row that is shorter or a stretch of fewer than two, NaN where a
// sample is not finite.
func StillestOf(row []float64, samples int) float64 {
	if math.IsNaN(SwingOf(row)) {
		return math.NaN()
	}
	least := math.Inf(1)
	if samples < 2 {
		return least
	}
	highest, lowest := extremum{samples: samples}, extremum{samples: samples}
	for t, x := range row {
		top, bottom := highest.next(t, x), -lowest.next(t, -x)
		if t >= samples-1 {
			least = min(least, top-bottom)
		}
	}
	return least
}

// An extremum is the largest of the latest samples. It keeps those that can
// still become it, in falling order, so that a sample costs the same for any
// length.
type extremum struct {
	samples int
	queue   []sampled
}

type sampled struct {
	at    int
	value float64
}

func (e *extremum) next(t int, x float64) float64 {
	for len(e.queue) > 0 && e.queue[len(e.queue)-1].value <= x {
		e.queue = e.queue[:len(e.queue)-1]
	}
	e.queue = append(e.queue, sampled{t, x})
	if e.queue[0].at <= t-e.samples {
		e.queue = e.queue[1:]
	}
	return e.queue[0].value
}
