package trigger

import (
	"math"

	"calotte/topo/recording"
	"calotte/topo/recording/event"
	"calotte/topo/unit"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
)

// Lags says how late a sensor is against the trigger, in s. With no lag at all
// the numbers are NaN; with one the deviation is.
type Lags struct {
	Each     []float64 // for each trigger in the order of time; NaN where the sensor showed nothing
	Missing  int       // triggers without a sensor onset
	Extra    int       // sensor onsets that belong to no trigger
	Mean     float64
	SD       float64 // jitter: the standard deviation, n − 1
	Min, Max float64
}

// Lag measures for each trigger the time to the next onset of the sensor, which
// must come before the next trigger and within the given time. Shift the events
// by the mean; what the jitter is, averaging smears. Onsets are known to a
// sample: a constant lag of n + f samples, f below 1, shows as n or n+1, with a
// deviation of √(f(1−f)), at most half a sample.
func Lag(triggers, sensor []recording.Event, within unit.Time) Lags {
	l := Lags{Extra: len(sensor), Mean: math.NaN(), SD: math.NaN(), Min: math.NaN(), Max: math.NaN()}
	var found []float64
	for _, p := range event.Pairs(triggers, sensor, unit.Span{To: within}) {
		if p.Outcome != event.Answered {
			l.Missing++
			l.Each = append(l.Each, math.NaN())
			continue
		}
		l.Extra--
		l.Each = append(l.Each, p.Time)
		found = append(found, p.Time)
	}
	if len(found) == 0 {
		return l
	}
	l.Mean, l.SD = stat.MeanStdDev(found, nil)
	l.Min, l.Max = floats.Min(found), floats.Max(found)
	return l
}
