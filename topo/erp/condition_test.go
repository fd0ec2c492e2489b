package erp

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"calotte/layout/hostile"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
	"calotte/topo/recording/event"
)

func TestConditionSet(t *testing.T) {
	for text, want := range map[string]Condition{
		"known=T1":              {"known", event.Labels("T1")},
		"both=T1, T2 ":          {"both", event.Labels("T1", "T2")},
		`known="Stimulus/S  1"`: {"known", event.Labels("Stimulus/S  1")},
		`hits="a=b"`:            {"hits", event.Labels("a=b")},
		"gelöst=ja":             {"gelöst", event.Labels("ja")},
		"2nd=" + "\u00e9vident": {"2nd", event.Labels("évident")},
	} {
		var c Condition
		if err := c.Set(text); err != nil || c.Name != want.Name || !slices.Equal(c.labels(), want.labels()) {
			t.Errorf("%q: %+v, %v, want %+v", text, c, err, want)
		}
	}
	for text, want := range map[string]string{
		"":            `condition "" has no event label: expected NAME=LABEL`,
		"known":       "has no event label",
		"=T1":         "the name is empty: use letters and digits",
		"a-b=T1":      `the name "a-b" holds '-'`,
		"../x=T1":     "holds '.'",
		"a b=T1":      "holds ' '",
		"known=":      "has no event label",
		"known=T1,":   "condition known: ",
		"known=T1,T1": `condition known: `,
		"a\xffb=T1":   "use letters and digits",
	} {
		c := Condition{"kept", event.Labels("as it was")}
		erptest.WantError(t, c.Set(text), want)
		if c.Name != "kept" {
			t.Errorf("%q changed the condition", text)
		}
	}
}

func FuzzConditionSet(f *testing.F) {
	for _, text := range []string{"known=T1", "both=T1,T2", "=", "a=b=c", "a= ,", "\xff=\xff"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
		var c, again Condition
		if c.Set(text) != nil {
			return
		}
		if strings.ContainsAny(c.Name, "/\\.-_=\x00") || c.Name == "" || c.Events.IsZero() {
			t.Errorf("%q gave the name %q and the selector %q", text, c.Name, c.Events)
		}
		if err := again.Set(c.String()); err != nil || again.String() != c.String() {
			t.Errorf("%q became %q, which reads as %+v, %v", text, c, again, err)
		}
	})
}

func texts(labels ...string) []recording.Event {
	var events []recording.Event
	for _, l := range labels {
		events = append(events, erptest.Annotation(0, l))
	}
	return events
}

func TestCheckConditions(t *testing.T) {
	events := texts("T0", "T1", "T0", "T2")
	known, novel := Condition{"known", event.Labels("T1")}, Condition{"novel", event.Labels("T2", "T0")}
	if err := CheckConditions([]Condition{known, novel}, events); err != nil {
		t.Error(err)
	}
	for _, c := range []struct {
		conditions []Condition
		want       string
	}{
		{[]Condition{known, {"Known", event.Labels("T2")}},
			`two conditions are named "Known": join their labels with a comma, or rename one`},
		{[]Condition{{"known", event.Labels("T1", "T9")}},
			`condition known: no event "T9": there are T0 (2), T1 (1), T2 (1)`},
		{[]Condition{{"known", event.Labels("t1")}}, `no event "t1"`},
	} {
		erptest.WantError(t, CheckConditions(c.conditions, events), c.want)
	}
	erptest.WantError(t, CheckConditions([]Condition{known}, nil), `no event "T1": there are no events`)
}

func TestLabelCounts(t *testing.T) {
	var many []string
	for i := range 14 {
		many = append(many, string(rune('a'+i)))
	}
	for _, c := range []struct {
		labels []string
		want   string
	}{
		{nil, "there are no events"},
		{[]string{"b", "a", "b", "c"}, "events: b (2), a (1), c (1)"},
		{many, "events: a (1), b (1), c (1), d (1), e (1), f (1), g (1), h (1), i (1), j (1), k (1), l " +
			"(1) and 2 more"},
		{[]string{"two\nlines\x1b[31m"}, "events: two·lines·[31m (1)"},
		{[]string{strings.Repeat("ä", 50)}, "events: " + strings.Repeat("ä", 40) + "… (1)"},
	} {
		if got := LabelCounts(texts(c.labels...)); got != c.want || !utf8.ValidString(got) {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
