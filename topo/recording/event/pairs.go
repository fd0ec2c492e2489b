package event

import (
	"cmp"
	"math"
	"slices"

	"calotte/topo/recording"
	"calotte/topo/unit"
)

// An Outcome says whether a stimulus found its response.
type Outcome int

const (
	Answered   Outcome = iota
	Unanswered         // no response before the next stimulus, or at all
	TooEarly           // the first response came before the limits
	TooLate            // and after them
)

// String says what to tell a reader of a count.
func (o Outcome) String() string {
	return [...]string{"answered", "unanswered", "too early", "too late"}[o]
}

// A Pair is a stimulus and the response to it.
type Pair struct {
	Stimulus recording.Event
	Response recording.Event // zero where unanswered
	Time     float64         // from stimulus to response, s; NaN where unanswered
	Outcome  Outcome
}

// Pairs returns a pair for each stimulus, in the order of their onsets. The
// response to a stimulus is the first one at its onset or later and before the
// next stimulus: one that comes later answers that one. The first response
// decides. If its time lies outside the limits, both ends included, no later
// response takes its place.
//
// The times are those of the events: whoever locks to responses counts the
// baseline from Stimulus and the epoch from Response.
func Pairs(stimuli, responses []recording.Event, limits unit.Span) []Pair {
	stimuli, responses = inTime(stimuli), inTime(responses)
	pairs := make([]Pair, len(stimuli))
	for i, s := range stimuli {
		for len(responses) > 0 && responses[0].Onset < s.Onset {
			responses = responses[1:]
		}
		pairs[i] = Pair{Stimulus: s, Time: math.NaN(), Outcome: Unanswered}
		next := math.Inf(1)
		if i+1 < len(stimuli) {
			next = stimuli[i+1].Onset
		}
		if len(responses) == 0 || responses[0].Onset >= next {
			continue
		}
		pairs[i].answer(responses[0], limits)
	}
	return pairs
}

// tolerance is what the limits of a response time allow for: a difference of
// two times of day-long recordings is rounded by less, and no clock ticks so
// fast.
const tolerance = 1e-9 // s

func (p *Pair) answer(response recording.Event, limits unit.Span) {
	p.Response, p.Time = response, response.Onset-p.Stimulus.Onset
	switch {
	case p.Time < float64(limits.From)-tolerance:
		p.Outcome = TooEarly
	case p.Time > float64(limits.To)+tolerance:
		p.Outcome = TooLate
	default:
		p.Outcome = Answered
	}
}

// inTime returns the events in the order of their onsets.
func inTime(events []recording.Event) []recording.Event {
	return slices.SortedStableFunc(slices.Values(events),
		func(a, b recording.Event) int { return cmp.Compare(a.Onset, b.Onset) })
}
