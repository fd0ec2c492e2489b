package main

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/option"
	"calotte/topo/erp/average"
)

// tags of an SVG file.
var tags = regexp.MustCompile(`<[^>]*>`)

func TestTitlesAndOrigins(t *testing.T) {
	averageOf := func(name, condition string) *average.Average {
		return &average.Average{Info: average.Info{Name: name, Condition: condition}}
	}
	for _, c := range []struct {
		what            string
		averages        []*average.Average
		paths           []string
		titles, origins string // empty: refused
	}{
		{"two conditions", []*average.Average{averageOf("a", "x"), averageOf("a", "y")},
			[]string{"a_x.tsv", "a_y.tsv"},
			"x; y", "a_x.tsv; a_y.tsv"},
		{"two people", []*average.Average{averageOf("a", "x"), averageOf("b", "x")},
			[]string{"a_x.tsv", "b_x.tsv"},
			"a, x; b, x", "a_x.tsv; b_x.tsv"},
		{"both", []*average.Average{averageOf("a", "x"), averageOf("b", "y")}, []string{"a_x.tsv", "b_y.tsv"},
			"x, a; y, b", "a_x.tsv; b_y.tsv"},
		{"two files", []*average.Average{averageOf("a", "x"), averageOf("a", "x")},
			[]string{"old.tsv", "new.tsv"},
			"x, old; x, new", "old.tsv; new.tsv"},
		{"two folders", []*average.Average{averageOf("a", "x"), averageOf("a", "x"), averageOf("a", "y")},
			[]string{"p/q/a_x.tsv", "p/r/a_x.tsv", "p/r/a_y.tsv"},
			"x, q; x, r; y", "q/a_x.tsv; r/a_x.tsv; a_y.tsv"},
		{"folders of one name", []*average.Average{averageOf("a", "x"), averageOf("a", "x")},
			[]string{"p/q/a_x.tsv", "r/q/a_x.tsv"}, "", ""},
	} {
		read := averages.Tables{Averages: c.averages, Paths: c.paths}
		titles, err := read.Titles()
		if got := strings.Join(titles, "; "); got != c.titles || (err != nil) != (c.titles == "") {
			t.Errorf("%s: titles %q, %v; want %q", c.what, got, err, c.titles)
		}
		origins, err := read.Origins()
		if got := strings.Join(origins, "; "); got != c.origins || (err != nil) != (c.origins == "") {
			t.Errorf("%s: origins %q, %v; want %q", c.what, got, err, c.origins)
		}
	}
}

// A table whose reference nobody told may stand beside others, with a remark;
// two that were told must agree.
func TestReferencesOfASheet(t *testing.T) {
	dir := averaged(t, "sub-01")
	known := filepath.Join(dir, "sub-01_go_average.tsv")
	own := writeFile(t, filepath.Join(dir, "own.tsv"), averageTable(tableHeader, wave))
	svg := filepath.Join(dir, "map.svg")
	must(t, "map", own, known, "--at", "100ms", "-o", svg)
	text, err := os.ReadFile(svg)
	if err != nil {
		t.Fatal(err)
	}
	words := strings.Join(strings.Fields(tags.ReplaceAllString(string(text), " ")), " ")
	for _, want := range []string{"Reference: as recorded", "The reference of own is not known."} {
		if !strings.Contains(words, want) {
			t.Errorf("the figure does not say %q: %s", want, words)
		}
	}
	other := filepath.Join(dir, "other")
	must(t, "average", filepath.Join(dir, "sub-01_eeg.edf"), "--condition", "stop=stop", "--epoch", "-100..400ms",
		"--reference", "Cz", "-o", other)
	_, stderr, code := calotte("map", own, known, filepath.Join(other, "sub-01_stop_average.tsv"), "--at", "100ms",
		"-o", filepath.Join(dir, "x.svg"))
	if code != console.Failed || !strings.Contains(stderr, `"as recorded" and "Cz"`) {
		t.Errorf("exit %d: %s", code, stderr)
	}
}

func TestShellQuote(t *testing.T) {
	for arg, want := range map[string]string{
		"a_b-c.edf": "a_b-c.edf", "/x/é.edf": "/x/é.edf", "NAME=T1,T2": "NAME=T1,T2",
		"my rec.edf": "'my rec.edf'", "it's": `'it'\''s'`, "$HOME": "'$HOME'", "*": "'*'", "": "''",
		"a\x1b[2J\n\u202e\xff'\"\\": `$'a\x1b[2J\n\u202e\xff\'"\\'`,
	} {
		if got := console.ShellQuote(arg); got != want {
			t.Errorf("%q: %s, want %s", arg, got, want)
		}
	}
}

func TestSiteSetKeepsSpellings(t *testing.T) {
	var s option.Sites
	if err := s.Set("T3, cz,PO7"); err != nil {
		t.Fatal(err)
	}
	if got := s.Columns(); !slices.Equal(got, []string{"T3", "cz", "PO7"}) {
		t.Errorf("%q", got)
	}
	if err := s.Set("Pz"); err != nil || !slices.Equal(s.Columns(), []string{"T3", "cz", "PO7", "Pz"}) {
		t.Errorf("given again: %q, %v", s.Columns(), err)
	}
	if err := s.Set("10-20"); err == nil {
		t.Error("a system beside sites is taken")
	}
	system := option.Sites{Text: "Cz"} // a default
	if err := system.Set("10-20"); err != nil || len(system.Columns()) != len(system.Names) ||
		system.Columns()[0] != string(system.Names[0]) {
		t.Errorf("%q, %v", system.Columns(), err)
	}
}
