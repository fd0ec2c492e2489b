package epoch

import (
	"fmt"
	"math"

	"calotte/topo/unit"
)

// tolerance is how far, in samples, a time may lie outside a sample and still
// be taken as that sample's: decimal times are rarely whole samples in binary.
const tolerance = 1e-6

// mostSamples bounds a window so that its length fits any int. At 20 kHz it is
// more than an hour on each side of the event.
const mostSamples = 1e8

// A Window is a stretch of samples counted from an event's sample, both ends
// included.
type Window struct {
	First, Last int
	Rate        float64 // Hz
}

// NewWindow returns the samples at the given rate that lie in span. It is an
// error when there is none, or when the rate is not positive and finite.
func NewWindow(span unit.Span, rate float64) (Window, error) {
	if !(rate > 0) || math.IsInf(rate, 0) {
		return Window{}, fmt.Errorf("sampling rate %v Hz: expected a positive number", rate)
	}
	first := math.Ceil(float64(span.From)*rate - tolerance)
	last := math.Floor(float64(span.To)*rate + tolerance)
	if !(last >= first) { // NaN included
		return Window{}, fmt.Errorf("no sample between %v and %v at %v Hz: give a longer range", span.From,
			span.To,
			rate)
	}
	if farthest := max(math.Abs(first), math.Abs(last)); farthest > mostSamples {
		return Window{}, fmt.Errorf("the range %v reaches %.3g samples from the event at %v Hz: give a "+
			"shorter one",
			span, farthest, rate)
	}
	return Window{int(first), int(last), rate}, nil
}

// WindowOf returns the window whose samples lie at these times, evenly spaced,
// in s. A rate of zero is taken from them.
func WindowOf(times []float64, rate float64) Window {
	if rate == 0 {
		rate = float64(len(times)-1) / (times[len(times)-1] - times[0])
	}
	first := int(math.Round(times[0] * rate))
	return Window{first, first + len(times) - 1, rate}
}

// Len is the number of samples.
func (w Window) Len() int { return w.Last - w.First + 1 }

// Times returns the time of each sample in s.
func (w Window) Times() []float64 {
	times := make([]float64, w.Len())
	for i := range times {
		times[i] = float64(w.First+i) / w.Rate
	}
	return times
}

// Within returns the indexes [from, to) of the window's samples that lie in
// span. A span that reaches outside the window is an error.
func (w Window) Within(span unit.Span) (from, to int, err error) {
	part, err := NewWindow(span, w.Rate)
	if err != nil {
		return 0, 0, err
	}
	switch {
	case w.First > 0 && part.First < w.First:
		return 0, 0, fmt.Errorf("%v is not in the epoch, which begins after the event: subtract none, "+
			"or choose a "+
			"range inside %v..%v",
			span, unit.Readable(w.start()), unit.Readable(w.end()))
	case part.First < w.First || part.Last > w.Last:
		return 0, 0, fmt.Errorf("%v reaches outside the epoch, %v..%v: choose a range inside it",
			span, unit.Readable(w.start()), unit.Readable(w.end()))
	}
	return part.First - w.First, part.Last - w.First + 1, nil
}

func (w Window) start() float64 { return float64(w.First) / w.Rate }
func (w Window) end() float64   { return float64(w.Last) / w.Rate }
