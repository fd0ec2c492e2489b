package erp

import (
	"fmt"
	"strings"

	"calotte/topo/recording"
	"calotte/topo/recording/event"
	"calotte/topo/unit"
)

// Responses are the events that answer those of the conditions. Each
// condition's event is answered by the first response before the next event of
// any condition, see event.Pairs.
type Responses struct {
	Events event.Selector
	Within unit.Span // response times of the epochs to average, both ends included
	Lock   bool      // time zero is the response; the baseline stays before the stimulus
}

// locked says whether time zero is the response.
func (p *Pipeline) locked() bool { return p.Responses != nil && p.Responses.Lock }

// A candidateTrial is an event that conditions ask for, before it is known
// whether its epoch can be cut.
type candidateTrial struct {
	marked      recording.Event
	conditions  []int
	event, zero float64 // when it happened, and the time zero of its epoch; s
	response    float64 // s from the event
	reason      string  // why it is out, empty: it is not
}

// candidates lists the events that conditions ask for, in the order of the
// recording's.
func (p *Pipeline) candidates(rec *recording.Recording) []candidateTrial {
	var found []candidateTrial
	var stimuli []recording.Event
	for _, e := range rec.Events {
		wanted := p.conditionsOf(e)
		if wanted == nil {
			continue
		}
		at := e.Onset + float64(p.Shift)
		found = append(found, candidateTrial{marked: e, conditions: wanted, event: at, zero: at,
			response: noResponse})
		if p.Responses != nil {
			e.Onset = at
			stimuli = append(stimuli, e)
		}
	}
	if p.Responses == nil {
		return found
	}
	// Pairs go by time, and events of a recording are in that order
	// already.
	for i, pair := range event.Pairs(stimuli, p.Responses.Events.Select(rec.Events), p.Responses.Within) {
		found[i].response = pair.Time
		if pair.Outcome != event.Answered {
			found[i].reason = "response " + pair.Outcome.String()
			if pair.Outcome == event.Unanswered {
				found[i].reason = "no response"
			}
		} else if p.Responses.Lock {
			found[i].zero = pair.Response.Onset
		}
	}
	return found
}

// conditionsOf returns the indexes of the conditions that an event belongs to.
func (p *Pipeline) conditionsOf(e recording.Event) []int {
	var of []int
	for i, c := range p.Conditions {
		if c.Events.Match(e) {
			of = append(of, i)
		}
	}
	return of
}

// timing says how time zero was found, empty where it is the event as marked.
func (p *Pipeline) timing() string {
	var texts []string
	if p.Shift != 0 {
		texts = append(texts, fmt.Sprintf("events %v after their marks", p.Shift))
	}
	if r := p.Responses; r != nil {
		text := fmt.Sprintf("responses (%v) within %v", r.Events, r.Within)
		if r.Lock {
			text = "time zero at the " + text
		} else {
			text = "only with " + text
		}
		texts = append(texts, text)
	}
	return strings.Join(texts, "; ")
}
