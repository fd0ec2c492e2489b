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
	"calotte/topo/unit"
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
		events = append(events, recording.Event{Onset: 10 * float64(i), Duration: math.NaN(), Text: row[0], Columns: recording.NewColumns(names, row)})
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

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct {
		selector string
		column   int
		problem  string // its beginning
	}{
		{"", 1, "the text ends where a label, a column or a bracket is expected"},
		{"   ", 4, "the text ends where"},
		{"T1 and", 7, "the text ends where a label, a column or a bracket is expected"},
		{"T1 and and T2", 8, `"and" stands where a label, a column or a bracket is expected: put it in quotes`},
		{"or T1", 1, `"or" stands where`},
		{"T1,", 4, "the text ends where a label is expected"},
		{"T1,,T2", 4, `"," stands where a label is expected`},
		{"T1,T2,T1", 7, `"T1" is given twice: keep one`},
		{"go left", 4, `"left" follows without and, or, or a comma: put a label of several words in quotes`},
		{"(T1 or T2", 1, "the bracket that opens here is not closed"},
		{"T1 or (T2 T3)", 11, `"T3" follows where and, or, or a closing bracket is expected`},
		{"T1)", 3, "no bracket is open that this one could close"},
		{"()", 2, `")" stands where`},
		{"trial_type:", 12, `the text ends where a value of "trial_type" is expected`},
		{"trial_type:known:novel", 17, `":" follows where and, or, or the end is expected`},
		{":known", 1, `":" stands where`},
		{`"go left`, 1, `the quote " that opens here is not closed`},
		{`T1 or 'go`, 7, `the quote ' that opens here is not closed`},
		{`""`, 1, "nothing stands between the quotes"},
		{"response_time<", 15, `the text ends where a number to compare "response_time" with is expected`},
		{"response_time<800ms", 15, `"800ms" is no number without a unit`},
		{"response_time<inf", 15, `"inf" is no number`},
		{"response=correct", 10, `"correct" is no number without a unit, to compare "response" with: texts are chosen as response:correct`},
		{"response==1", 10, `"=" stands where a number`},
		{"a<1<2", 4, `"<" follows where`},
		{"time:60s", 6, `"60s" is no range`},
		{"time:60s..0s", 6, `range "60s..0s" runs backwards`},
		{"time:0..60", 6, "end of range"},
		{"T1 & T2", 4, `"&" follows without and, or, or a comma`},
		{"T1 ! T2", 4, `"!" has no meaning here`},
		{`known\`, 6, `"\\" has no meaning here`},
		{"→ and ü:(", 9, `"(" stands where`}, // characters are counted, not bytes
		{"ab\xff", 3, "the text is not UTF-8"},
		{strings.Repeat("(", 1e6) + "a", 101, "more than 100 brackets and nots stand inside each other"},
		{strings.Repeat("not ", 1e5) + "a", 401, "more than 100 brackets"},
	} {
		_, err := Parse(c.selector)
		var fault *SyntaxError
		if !errors.As(err, &fault) {
			t.Errorf("%.40q: error %v, want a *SyntaxError", c.selector, err)
			continue
		}
		if fault.Column != c.column || !strings.HasPrefix(fault.Problem, c.problem) {
			t.Errorf("%.40q: column %d, %s\nwant %d, %s", c.selector, fault.Column, fault.Problem, c.column, c.problem)
		}
	}
}

func TestErrorText(t *testing.T) {
	_, err := Parse("T1 and")
	if want := `selector "T1 and", column 7: the text ends where a label, a column or a bracket is expected`; err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}

func TestString(t *testing.T) {
	for text, want := range map[string]string{
		" T1 ,T2":                           "T1,T2",
		"((a))":                             "a",
		"(a and b) and c":                   "a and b and c",
		"a or (b or c)":                     "a or b or c",
		"(a or b) and c":                    "(a or b) and c",
		"(a and b) or c":                    "a and b or c",
		"not (a)":                           "not a",
		"not (a or b)":                      "not (a or b)",
		`'it"s'`:                            `"it\"s"`,
		`"a\\b" or "and"`:                   `"a\\b" or "and"`,
		`"time":5`:                          `"time":5`,
		"time: '0s..1s'":                    "time:0..1s",
		"rt < 1e3 and rt>=-0.50 and x != 2": "rt<1000 and rt>=-0.5 and x!=2",
		"value:n/a":                         "value:n/a",
		"'':'a'":                            "", // an error
	} {
		s, err := Parse(text)
		if got := s.String(); got != want || (err != nil) != (want == "") {
			t.Errorf("%s: got %s, error %v; want %s", text, got, err, want)
		}
	}
}

// drawSelector returns a selector of any shape.
func drawNode(t *rapid.T, depth int) node {
	word := rapid.OneOf(rapid.SampledFrom([]string{"T1", "known", "and", "or", "not", "time", "n/a", "go left", `a"b`, `\`, "ä→", "it's", "(", "0s..1s"}), rapid.StringN(1, 5, -1))
	words := rapid.SliceOfNDistinct(word, 1, 3, rapid.ID)
	kind := rapid.IntRange(0, 6).Draw(t, "kind")
	if depth == 0 {
		kind %= 4
	}
	parts := func(same func(node) bool) (of []node) {
		for range rapid.IntRange(2, 3).Draw(t, "parts") {
			n := drawNode(t, depth-1)
			for same(n) {
				n = drawNode(t, 0)
			}
			of = append(of, n)
		}
		return of
	}
	switch kind {
	case 0:
		return anyLabel{words.Draw(t, "labels")}
	case 1:
		return anyValue{word.Draw(t, "column"), words.Draw(t, "values")}
	case 2:
		return compare{word.Draw(t, "column"), comparisons[rapid.IntRange(0, 5).Draw(t, "operator")].operator, rapid.Float64().Draw(t, "number")}
	case 3:
		from := rapid.IntRange(-1000, 1000).Draw(t, "from")
		to := rapid.IntRange(from+1, 2000).Draw(t, "to")
		return during{unit.Span{From: unit.Time(float64(from) / 1000), To: unit.Time(float64(to) / 1000)}}
	case 4:
		return not{drawNode(t, depth-1)}
	case 5:
		return all{parts(func(n node) bool { _, is := n.(all); return is })}
	}
	return anyNode{parts(func(n node) bool { _, is := n.(anyNode); return is })}
}

// What a selector writes is read as the same selector.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := Selector{drawNode(t, 3)}
		text := want.String()
		got, err := Parse(text)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s was read as %s", text, got)
		}
	})
}

// "not (a and b)" is "not a or not b", and so on, for all three truths.
func TestDeMorgan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		names := []string{"a", "b"}
		value := rapid.SampledFrom([]string{"1", "2", "n/a"})
		e := recording.Event{Columns: recording.NewColumns(names, []string{value.Draw(t, "a"), value.Draw(t, "b")})}
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
				t.Errorf("%s is %v, %s is %v", pair[0], left.root.match(&e), pair[1], right.root.match(&e))
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
		{"response:up or known", `no event has "up" in the column "response": it holds n/a (3), left (2), right (1)`},
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
	if err := s.Check(table()[5:]); err == nil || err.Error() != `no column "trial_type": these events have labels only, no columns` {
		t.Errorf("annotations: %v", err)
	}
	if err := (Selector{}).Check(table()); err == nil {
		t.Error("the zero selector passed")
	}
	long := recording.Event{Text: strings.Repeat("x", 100) + "\x1b"}
	if err := Labels("T1").Check([]recording.Event{long, {}}); err == nil || err.Error() != `no event "T1": there are "" (1), `+strings.Repeat("x", 40)+"… (1)" {
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

func FuzzParse(f *testing.F) {
	for _, text := range []string{"T1,T2", `trial_type:known and not (response_time<=0.8 or "go left")`, "time:-200..800ms", `'\'':"\\"`, "a!=1e-3", "→"} {
		f.Add(text)
	}
	events := table()
	f.Fuzz(func(t *testing.T, text string) {
		s, err := Parse(text)
		var fault *SyntaxError
		if errors.As(err, &fault) {
			if fault.Column < 1 || fault.Column > len(text)+1 {
				t.Fatalf("column %d of %d bytes", fault.Column, len(text))
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		again, err := Parse(s.String())
		if err != nil || again.String() != s.String() {
			t.Fatalf("%q became %q, then %q, error %v", text, s, again, err)
		}
		for _, e := range events {
			if s.Match(e) != again.Match(e) {
				t.Fatalf("%q and %q differ", text, s)
			}
		}
		_ = s.Check(events)
	})
}
