package trigger

import (
	"fmt"
	"math"

	"calotte/topo/recording"
	"calotte/topo/unit"
)

// Edge says in which direction a threshold is crossed.
type Edge int

const (
	Rising Edge = iota
	Falling
)

// A Threshold finds the onsets of a signal that is high or low.
type Threshold struct {
	Level float64   // in the signal's unit
	Edge  Edge      // rising: from below the level to it or above; falling: from above to it or below
	Dead  unit.Time // for so long after an onset no other counts
	Label string    // of the events
}

// Crossings returns an event without duration for each sample at which a signal
// crosses the threshold. A screen that flickers, or noise at the level, makes
// many crossings of one: give a dead time that is longer than these and shorter
// than the time between two onsets.
func Crossings(r *recording.Recording, signal int, t Threshold) ([]recording.Event, error) {
	if !(t.Dead >= 0) || math.IsNaN(t.Level) {
		return nil, fmt.Errorf("threshold %v with a dead time of %v: expected a number, and a time of "+
			"zero or more",
			t.Level, t.Dead)
	}
	c := crossings{threshold: t, since: math.Inf(-1)}
	var events []recording.Event
	err := walk(r, r.Blocks([]int{signal}), signal, func(x float64, first bool, time float64) {
		if c.next(x, first, time) {
			events = append(events, recording.Event{Onset: time, Duration: math.NaN(), Text: t.Label})
		}
	})
	return events, err
}

// crossings follows a signal.
type crossings struct {
	threshold Threshold
	beyond    bool    // the sample before was at the level or past it
	since     float64 // time of the last onset
}

// next reports whether a sample is an onset.
func (c *crossings) next(x float64, first bool, time float64) bool {
	t := &c.threshold
	beyond := x >= t.Level
	if t.Edge == Falling {
		beyond = x <= t.Level
	}
	crosses := beyond && !c.beyond && !first
	c.beyond = beyond
	// A dead time of whole samples ends with its last sample, rounding
	// aside.
	if !crosses || time < c.since+float64(t.Dead)-1e-9 {
		return false
	}
	c.since = time
	return true
}
