package study

import (
	"math"
	"math/rand/v2"

	"calotte/topo/recording"
)

// The two conditions: flags that the pilot has learnt and flags never shown.
const (
	Known = "known"
	Novel = "novel"
)

// Conditions returns the two kinds of flag, in the order of every table.
func (*Study) Conditions() []string { return conditions() }

func conditions() []string { return []string{Known, Novel} }

// Pause is the text of the one event that is no flag.
const Pause = "break"

// The timing of a session, in seconds. From −200 to 800 ms around its onset
// no flag meets the response to another: the next one comes 800 ms later at
// the earliest.
const (
	flagsEach    = 100 // of each condition
	leadIn       = 2.0
	shortestGap  = 0.8
	longestGap   = 1.0
	pauseLasts   = 4.0
	leadOut      = 1.5
	onsetDecimal = 1e4 // onsets are whole tenths of a millisecond, so their text is exact
)

// schedule draws a session: the flags in random order at random intervals,
// with a pause after half of them. It returns the length of the session in
// whole seconds too.
func schedule(rng *rand.Rand) (events []recording.Event, seconds int) {
	order := make([]string, 0, 2*flagsEach)
	for range flagsEach {
		order = append(order, Known, Novel)
	}
	rng.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })

	gap := func() float64 { return shortestGap + (longestGap-shortestGap)*rng.Float64() }
	t := leadIn + gap()
	for i, text := range order {
		if i == len(order)/2 {
			events = append(events, recording.Event{Onset: onTick(t), Duration: pauseLasts, Text: Pause})
			t += pauseLasts + gap()
		}
		events = append(events, recording.Event{Onset: onTick(t), Duration: math.NaN(), Text: text})
		t += gap()
	}
	return events, int(math.Ceil(t + leadOut))
}

func onTick(t float64) float64 { return math.Round(t*onsetDecimal) / onsetDecimal }
