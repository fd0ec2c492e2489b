package paper

import (
	"slices"
	"testing"
)

func TestBreak(t *testing.T) {
	most := func(letters int) func(string) bool {
		return func(line string) bool { return len([]rune(line)) <= letters }
	}
	for _, c := range []struct {
		text    string
		letters int
		want    []string
	}{
		{"", 5, nil},
		{"  one  two ", 7, []string{"one two"}},
		{"one two", 6, []string{"one", "two"}},
		{"a longish word", 4, []string{"a", "long", "ish", "word"}},
		{"is 12\u00a0mm", 6, []string{"is", "12\u00a0mm"}},
		{"äöü x", 0, []string{"ä", "ö", "ü", "x"}}, // never an endless search
		{"äöü x", -1, []string{"ä", "ö", "ü", "x"}},
	} {
		if got := Break(c.text, most(c.letters)); !slices.Equal(got, c.want) {
			t.Errorf("%q to %d letters: %q, want %q", c.text, c.letters, got, c.want)
		}
	}
}
