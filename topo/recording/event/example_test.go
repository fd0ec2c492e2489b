package event_test

import (
	"fmt"
	"log"
	"math"

	"calotte/topo/recording"
	"calotte/topo/recording/event"
	"calotte/topo/unit"
)

// flags is a task: which flag was shown, and how the pilot answered.
func flags() []recording.Event {
	names := []string{"trial_type", "response", "response_time"}
	var events []recording.Event
	for i, row := range [][]string{{"known", "correct", "0.512"}, {"novel", "wrong", "0.95"},
		{"known", "n/a", "n/a"}} {
		events = append(events, recording.Event{Onset: 2 * float64(i), Duration: math.NaN(), Text: row[0],
			Columns: recording.NewColumns(names, row)})
	}
	return events
}

func ExampleParse() {
	for _, text := range []string{"known", "trial_type:known and response:correct", "not response_time<0.8",
		"time:0s..3s"} {
		s, err := event.Parse(text)
		if err != nil {
			log.Fatal(err)
		}
		fmt.Println(s, len(s.Select(flags())))
	}
	_, err := event.Parse("known or (novel")
	fmt.Println(err)
	// Output:
	// known 2
	// trial_type:known and response:correct 1
	// not response_time<0.8 1
	// time:0..3s 2
	// selector "known or (novel", column 10: the bracket that opens here is not closed
}

func ExampleSelector_Check() {
	s, err := event.Parse("trial_type:know")
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(s.Check(flags()))
	// Output:
	// no event has "know" in the column "trial_type": it holds known (2), novel (1)
}

// The baseline of an epoch about a response lies before its stimulus.
func ExamplePairs() {
	events := []recording.Event{
		{Onset: 1, Text: "flag"}, {Onset: 1.43, Text: "key"},
		{Onset: 3, Text: "flag"}, {Onset: 3.09, Text: "key"},
		{Onset: 5, Text: "flag"},
	}
	limits := unit.Span{From: 0.15, To: 1.5} // s
	for _, p := range event.Pairs(event.Labels("flag").Select(events), event.Labels("key").Select(events), limits) {
		fmt.Printf("flag at %g s: %v", p.Stimulus.Onset, p.Outcome)
		if p.Outcome == event.Answered {
			fmt.Printf(" after %.2f s", p.Time)
		}
		fmt.Println()
	}
	// Output:
	// flag at 1 s: answered after 0.43 s
	// flag at 3 s: too early
	// flag at 5 s: unanswered
}
