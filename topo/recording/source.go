package recording

import (
	"fmt"
	"math"
)

// A Source gives the samples of a recording that is no EDF or BDF file.
type Source interface {
	// Read fills a row of dst for each of the signals with its samples
	// from first on, in the signal's own unit. It is asked for no sample
	// beyond the last, and may be called from several goroutines.
	Read(signals []int, first int, dst [][]float64) error
}

// New returns a recording without gaps and without events whose samples come
// from a source: so many of each signal, at a rate in Hz. Of the header, Kind
// and the labels and units of the signals are used; no range is stated.
//
// A rate that is not above zero, no signals, no samples, and more than 73 years
// are errors.
func New(h Header, rate float64, samples int, s Source) (*Recording, error) {
	if !(rate > 0) || math.IsInf(rate, 0) {
		return nil, fmt.Errorf("a rate of %g Hz: expected more than 0", rate)
	}
	if len(h.Signals) == 0 || samples < 1 {
		return nil, fmt.Errorf("%d signals of %d samples: expected at least one of each", len(h.Signals),
			samples)
	}
	exact, ok := nanoseconds(float64(samples) / rate)
	if !ok || exact < 1 {
		return nil, fmt.Errorf("%d samples at %g Hz: expected a recording of a nanosecond to 73 years", samples,
			rate)
	}
	r := &Recording{array: s, exact: exact}
	r.Kind, r.Records, r.RecordDuration, r.rate = h.Kind, 1, float64(exact)/second, rate
	for _, signal := range h.Signals {
		r.Signals = append(r.Signals, Signal{Label: signal.Label, Unit: signal.Unit, SamplesPerRecord: samples})
	}
	r.Segments, r.anchors = []Segment{{0, 0, 1}}, []anchor{{0, 0, 0}}
	return r, nil
}
