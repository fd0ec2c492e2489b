package event

import (
	"math"
	"testing"

	"calotte/topo/recording"
	"calotte/topo/unit"
	"pgregory.net/rapid"
)

func at(text string, onsets ...float64) []recording.Event {
	var events []recording.Event
	for _, o := range onsets {
		events = append(events, recording.Event{Onset: o, Duration: math.NaN(), Text: text})
	}
	return events
}

func TestPairs(t *testing.T) {
	// Stimuli in the wrong order; a response before them all; one each just
	// at both limits, outside them, twice, and none.
	stimuli := at("flag", 20, 10, 30, 40, 50, 60, 70, 80)
	responses := at("key", 1, 10.15, 21.5, 30.149, 41.501, 50.1, 50.4, 69.9, 80.4)
	want := []struct {
		time    float64
		outcome Outcome
	}{{0.15, Answered}, {1.5, Answered}, {0.149, TooEarly}, {1.501, TooLate}, {0.1, TooEarly}, {9.9, TooLate},
		{math.NaN(), Unanswered}, {0.4, Answered}}
	pairs := Pairs(stimuli, responses, unit.Span{From: 0.15, To: 1.5})
	for i, p := range pairs {
		w := want[i]
		if p.Stimulus.Onset != float64(10*i+10) || p.Outcome != w.outcome ||
			!(math.Abs(p.Time-w.time) < 1e-12 || math.IsNaN(p.Time) && math.IsNaN(w.time)) {
			t.Errorf("stimulus at %g: %g s, %v; want %g, %v", p.Stimulus.Onset, p.Time, p.Outcome, w.time,
				w.outcome)
		}
	}
	if len(Pairs(nil, responses, unit.Span{})) != 0 {
		t.Error("pairs without stimuli")
	}
}

// What the definition says of each pair, by trying all.
func TestPairsByDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(label string) []recording.Event {
			onsets := rapid.SliceOfN(rapid.IntRange(0, 30), 0, 8).Draw(t, label)
			var events []recording.Event
			for _, o := range onsets {
				events = append(events, at(label, float64(o))...)
			}
			return events
		}
		stimuli, responses := draw("flag"), draw("key")
		limits := unit.Span{From: 2, To: 5}
		pairs := Pairs(stimuli, responses, limits)
		if len(pairs) != len(stimuli) {
			t.Fatalf("%d pairs of %d stimuli", len(pairs), len(stimuli))
		}
		for i, p := range pairs {
			first, next := math.Inf(1), math.Inf(1)
			for _, r := range responses {
				if r.Onset >= p.Stimulus.Onset {
					first = min(first, r.Onset)
				}
			}
			if i+1 < len(pairs) {
				next = pairs[i+1].Stimulus.Onset
			}
			time, want := first-p.Stimulus.Onset, Answered
			switch {
			case first >= next || math.IsInf(first, 1):
				time, want = math.NaN(), Unanswered
			case time < 2:
				want = TooEarly
			case time > 5:
				want = TooLate
			}
			if p.Outcome != want || p.Time != time && !math.IsNaN(time) {
				t.Errorf("pair %d: %g s, %v; want %g, %v", i, p.Time, p.Outcome, time, want)
			}
		}
	})
}
