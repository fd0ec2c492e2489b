package event

import (
	"errors"
	"reflect"
	"strings"
	"testing"

	"calotte/layout/hostile"
	"calotte/topo/unit"
	"pgregory.net/rapid"
)

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
		{"response=correct", 10,
			`"correct" is no number without a unit, to compare "response" with: texts are chosen as response:correct`},
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
			t.Errorf("%.40q: column %d, %s\nwant %d, %s", c.selector, fault.Column, fault.Problem, c.column,
				c.problem)
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

// drawNode returns a selector of any shape, as deep as is said.
func drawNode(t *rapid.T, depth int) node {
	word := rapid.OneOf(rapid.SampledFrom([]string{"T1", "known", "and", "or", "not", "time", "n/a", "go left",
		`a"b`,
		`\`, "ä→", "it's", "(", "0s..1s"}), rapid.StringN(1, 5, -1))
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
		return compare{word.Draw(t, "column"), comparisons[rapid.IntRange(0, 5).Draw(t, "operator")].operator,
			rapid.Float64().Draw(t, "number")}
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

func FuzzParse(f *testing.F) {
	for _, text := range []string{"T1,T2", `trial_type:known and not (response_time<=0.8 or "go left")`,
		"time:-200..800ms", `'\'':"\\"`, "a!=1e-3", "→"} {
		f.Add(text)
	}
	events := table()
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
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
