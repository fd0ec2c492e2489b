package trigger

import (
	"math"
	"math/rand/v2"
	"testing"

	"calotte/topo/recording"
)

func onsets(times ...float64) []recording.Event {
	var events []recording.Event
	for _, t := range times {
		events = append(events, recording.Event{Onset: t})
	}
	return events
}

// A worked example: lags of 10, 12, 14 and 20 ms have the mean 14 and the sum
// of squares 16 + 4 + 0 + 36 = 56, so the deviation √(56/3) = 4.320494 ms.
func TestLag(t *testing.T) {
	l := Lag(onsets(1, 2, 3, 4, 5, 6), onsets(0.5, 1.010, 2.012, 3.014, 3.5, 4.2, 6.020), 0.1)
	if l.Missing != 2 || l.Extra != 3 || len(l.Each) != 6 || !math.IsNaN(l.Each[3]) || !math.IsNaN(l.Each[4]) ||
		!same(l.Each[5], 0.020) {
		t.Errorf("missing %d, extra %d, each %v", l.Missing, l.Extra, l.Each)
	}
	if !same(l.Mean, 0.014) || !same(l.SD, 0.00432049380) || !same(l.Min, 0.010) || !same(l.Max, 0.020) {
		t.Errorf("mean %g, deviation %g, from %g to %g", l.Mean, l.SD, l.Min, l.Max)
	}
}

func TestLagOfNone(t *testing.T) {
	l := Lag(onsets(1, 2), onsets(1.5), 0.1)
	if l.Missing != 2 || l.Extra != 1 || !math.IsNaN(l.Mean) || !math.IsNaN(l.SD) || !math.IsNaN(l.Min) {
		t.Errorf("%+v", l)
	}
	if l = Lag(onsets(1), onsets(1.05), 0.1); !same(l.Mean, 0.05) || !math.IsNaN(l.SD) || l.Missing != 0 {
		t.Errorf("%+v", l)
	}
}

// A constant lag of 5.3 samples, found in whole samples, has the deviation
// √(0.3 · 0.7) = 0.458 samples and the mean 5.3.
func TestLagIsQuantised(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	var triggers, sensor []float64
	for i := range 20000 {
		x := float64(100*i) + random.Float64()
		triggers, sensor = append(triggers, math.Ceil(x)), append(sensor, math.Ceil(x+5.3))
	}
	l := Lag(onsets(triggers...), onsets(sensor...), 50)
	if math.Abs(l.Mean-5.3) > 0.01 || math.Abs(l.SD-math.Sqrt(0.21)) > 0.01 {
		t.Errorf("mean %g, deviation %g", l.Mean, l.SD)
	}
}
