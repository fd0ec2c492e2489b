package event

import (
	"encoding/json"
	"errors"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"calotte/topo/recording"
	"pgregory.net/rapid"
)

// table is six events of a task in which a pilot answers after each flag.
func table() []recording.Event {
	names := []string{"trial_type", "response", "response_time", "time"}
	var events []recording.Event
	for i, row := range [][]string{
		{"known", "left", "0.512", "1"},
		{"known", "right", "0.8", "2"},
		{"novel", "left", "1.25", "3"},
		{"novel", "n/a", "n/a", "4"},
		{"go left", "n/a", "late", "5"},
	} {
		events = append(events, recording.Event{Onset: 10 * float64(i), Duration: math.NaN(), Text: row[0],
			Columns: recording.NewColumns(names, row)})
	}
	return append(events, recording.Event{Onset: 50, Duration: math.NaN(), Text: "T1"}) // an annotation
}

func TestMatch(t *testing.T) {
	for _, c := range []struct {
		selector string
		want     []int
	}{
		{"T1", []int{5}},
		{"known", []int{0, 1}},
		{"known,T1", []int{0, 1, 5}},
		{" known , T1 ", []int{0, 1, 5}},
		{`"go left"`, []int{4}},
		{"'go left',T1", []int{4, 5}},
		{"Known", nil},
		{"know", nil},
		{"trial_type:known", []int{0, 1}},
		{"trial_type:known,novel and response:left", []int{0, 2}},
		{"trial_type : known", []int{0, 1}},
		{"response:n/a", []int{3, 4, 5}}, // the annotation has no column
		{"not response:n/a", []int{0, 1, 2}},
		{"response_time<0.8", []int{0}},
		{"response_time<=0.8", []int{0, 1}},
		{"response_time>0.8", []int{2}},
		{"response_time>=8e-1", []int{1, 2}},
		{"response_time=0.80", []int{1}},
		{"response_time!=0.8", []int{0, 2}},
		{"response_time:0.80", nil}, // values are texts
		{"response_time > -1", []int{0, 1, 2}},
		{"not response_time<0.8", []int{1, 2}}, // not those that have none
		{"not not response_time<0.8", []int{0}},
		{"not (response_time<0.8 or T1)", []int{1, 2}},
		{"response_time<0.8 or T1", []int{0, 5}},
		{"not (response_time<0.8 and known)", []int{1, 2, 3, 4, 5}}, // false and unknown is false
		{"known or novel and response:left", []int{0, 1, 2}},        // and binds closer
		{"(known or novel) and response:left", []int{0, 2}},
		{"not known and response:left", []int{2}}, // not binds closest
		{"time:10s..20s", []int{1, 2}},
		{"time:5000..15000ms", []int{1}},
		{`"time":3`, []int{2}},
		{"time>3 and time<5", []int{3}}, // a column, as no colon follows
		{"not time:0s..45s", []int{5}},
		{"colour:red", nil},
		{"colour:n/a and known", []int{0, 1}},
		{"colour<3", nil},
		{"not colour<3", nil},
	} {
		s, err := Parse(c.selector)
		if err != nil {
			t.Errorf("%s: %v", c.selector, err)
			continue
		}
		var got []int
		for i, e := range table() {
			if s.Match(e) {
				got = append(got, i)
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: events %v, want %v", c.selector, got, c.want)
		}
		if n := len(s.Select(table())); n != len(c.want) {
			t.Errorf("%s: %d events, want %d", c.selector, n, len(c.want))
		}
	}
}

// "not (a and b)" is "not a or not b", and so on, for all three truths.
func TestDeMorgan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		names := []string{"a", "b"}
		value := rapid.SampledFrom([]string{"1", "2", "n/a"})
		e := recording.Event{Columns: recording.NewColumns(names,
			[]string{value.Draw(t, "a"), value.Draw(t, "b")})}
		for _, pair := range [][2]string{
			{"not (a=1 and b=1)", "not a=1 or not b=1"},
			{"not (a=1 or b=1)", "not a=1 and not b=1"},
			{"not not a=1", "a=1"},
			{"a!=1", "not a=1"},
			{"a=1 and (b=1 or a=2)", "a=1 and b=1 or a=1 and a=2"},
		} {
			left, err := Parse(pair[0])
			right, again := Parse(pair[1])
			if err := errors.Join(err, again); err != nil {
				t.Fatal(err)
			}
			if left.root.match(&e) != right.root.match(&e) {
				t.Errorf("%s is %v, %s is %v", pair[0], left.root.match(&e), pair[1],
					right.root.match(&e))
			}
		}
	})
}

func TestCheck(t *testing.T) {
	for _, c := range []struct{ selector, want string }{
		{"known and not T1", ""},
		{"response_time<0.8 and trial_type:novel,known or time:0s..1s", ""},
		{"response:n/a", ""},
		{"T3", `no event "T3": there are known (2), novel (2), T1 (1), go left (1)`},
		{"known and not T3", `no event "T3"`},
		{"colour:red", `no column "colour": there are response, response_time, time, trial_type`},
		{"colour<1", `no column "colour"`},
		{"response:up or known",
			`no event has "up" in the column "response": it holds n/a (3), left (2), right (1)`},
		{"not (trial_type<3)", `the column "trial_type" holds no number to compare: it holds known (2), novel (2), go left (1), n/a (1)`},
	} {
		s, err := Parse(c.selector)
		if err != nil {
			t.Fatal(err)
		}
		switch err := s.Check(table()); {
		case (err == nil) != (c.want == "") || err != nil && !strings.HasPrefix(err.Error(), c.want):
			t.Errorf("%s: got %v, want %s", c.selector, err, c.want)
		}
	}
	s, _ := Parse("trial_type:known")
	if err := s.Check(table()[5:]); err == nil ||
		err.Error() != `no column "trial_type": these events have labels only, no columns` {
		t.Errorf("annotations: %v", err)
	}
	if err := (Selector{}).Check(table()); err == nil {
		t.Error("the zero selector passed")
	}
	long := recording.Event{Text: strings.Repeat("x", 100) + "\x1b"}
	if err := Labels("T1").Check([]recording.Event{long, {}}); err == nil ||
		err.Error() != `no event "T1": there are "" (1), `+strings.Repeat("x", 40)+"… (1)" {
		t.Errorf("long labels: %v", err)
	}
}

func TestLabels(t *testing.T) {
	want, err := Parse("T1,T2")
	if got := Labels("T1", "T2"); err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if !Labels().IsZero() || Labels().Match(recording.Event{}) {
		t.Error("no labels chose an event")
	}
}

func TestJSON(t *testing.T) {
	var s struct{ Events Selector }
	if err := json.Unmarshal([]byte(`{"Events":"T1 and time:0s..60s"}`), &s); err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(s)
	if want := `{"Events":"T1 and time:0..60s"}`; err != nil || string(b) != want {
		t.Errorf("got %s, error %v, want %s", b, err, want)
	}
	old := s.Events
	if err := s.Events.Set("T1 and"); err == nil || !reflect.DeepEqual(s.Events, old) {
		t.Error("a failed Set changed the selector")
	}
}
