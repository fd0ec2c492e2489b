package console

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"calotte/layout/hostile"
)

func TestEcho(t *testing.T) {
	for text, want := range map[string]string{
		"":                               "",
		"Fz":                             "Fz",
		`a "b" C:\d`:                     `a "b" C:\d`,
		"Größe 5 µV, 电极, é":              "Größe 5 µV, 电极, é",
		"a\u00a0b":                       "a\u00a0b",
		"\x1b]0;owned\a":                 `\x1b]0;owned\a`,
		"\x1b[2J\x9b":                    `\x1b[2J\x9b`,
		"one\r\ntwo\tthree\x00":          `one\r\ntwo\tthree\x00`,
		"gpj.\u202exfdp":                 `gpj.\u202exfdp`,
		"a\u200bb\ufeffc\u2028d":         `a\u200bb\ufeffc\u2028d`,
		"\xff\xfe":                       `\xff\xfe`,
		"\u0085\U000e0041":               `\u0085\U000e0041`,
		"\ufffd":                         "\ufffd",
		strings.Repeat("é", 80):          strings.Repeat("é", 80),
		strings.Repeat("é", 81):          strings.Repeat("é", 79) + "…",
		strings.Repeat("x", 78) + "\x1b": strings.Repeat("x", 78) + "…",
		strings.Repeat("x", 76) + "\x1b": strings.Repeat("x", 76) + `\x1b`,
	} {
		if got := Echo(text); got != want {
			t.Errorf("%q: got %q, want %q", text, got, want)
		}
	}
}

func TestJSONShowsNothingThatActs(t *testing.T) {
	want := "a\u009b\u202e\x1b[2J\U000e0041 é\u00a0\n\"\\"
	var b bytes.Buffer
	if err := JSON(&b, map[string]string{"x": want}); err != nil {
		t.Fatal(err)
	}
	if text := strings.TrimSuffix(b.String(), "\n"); strings.ContainsFunc(text,
		func(r rune) bool { return !unicode.IsGraphic(r) }) {
		t.Errorf("%q", text)
	}
	var got map[string]string
	if err := json.Unmarshal(b.Bytes(), &got); err != nil || got["x"] != want {
		t.Errorf("%q, %v", got["x"], err)
	}
}

func FuzzEcho(f *testing.F) {
	f.Add(strings.Repeat("\x1b[31m", 30))
	f.Add("a\u202eb\xff")
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
		got := Echo(text)
		if n := utf8.RuneCountInString(got); n > longestEcho || !utf8.ValidString(got) {
			t.Errorf("%q: %d characters: %q", text, n, got)
		}
		if strings.ContainsFunc(got,
			func(r rune) bool { return unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp) }) {
			t.Errorf("%q: a character that acts is left in %q", text, got)
		}
	})
}
