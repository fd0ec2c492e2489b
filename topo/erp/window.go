package erp

import (
	"fmt"
	"math"

	"calotte/topo/unit"
)

// tolerance is how far, in samples, a time may lie outside a sample and still
// be taken as that sample's: decimal times are rarely whole samples in binary.
const tolerance = 1e-6

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
	if last < first {
		return Window{}, fmt.Errorf("no sample between %v and %v at %v Hz: give a longer range", span.From, span.To, rate)
	}
	if last-first > 1e8 || math.Abs(first) > 1e12 {
		return Window{}, fmt.Errorf("the range %v holds %.0f samples at %v Hz: give a shorter one", span, last-first+1, rate)
	}
	return Window{int(first), int(last), rate}, nil
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

// within returns the indexes [from, to) of the window's samples that lie in
// span, which must not reach outside the window.
func (w Window) within(span unit.Span) (from, to int, err error) {
	part, err := NewWindow(span, w.Rate)
	if err != nil {
		return 0, 0, err
	}
	if part.First < w.First || part.Last > w.Last {
		return 0, 0, fmt.Errorf("%v reaches outside the epoch, %v..%v: choose a range inside it",
			span, unit.Time(w.start()), unit.Time(w.end()))
	}
	return part.First - w.First, part.Last - w.First + 1, nil
}

func (w Window) start() float64 { return float64(w.First) / w.Rate }
func (w Window) end() float64   { return float64(w.Last) / w.Rate }
