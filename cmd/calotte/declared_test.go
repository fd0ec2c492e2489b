package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/declared"
	"calotte/layout/hostile"
)

// A test is declared where the file that all averages were made with asks for
// it, and else the text says what is missing.
func TestDeclaredTests(t *testing.T) {
	dir, path := smallStudy(t, `recordings: data
declared: tests.yaml
average: {condition: [go=go, stop=stop], epoch: -200..400ms}
compare: {name: gs.tsv, inputs: [go, stop], during: 0..200ms, correct: enhanced, arrangements: 500}
`)
	tests := filepath.Join(dir, "tests.yaml")
	const asked = "compare: {inputs: [go, stop], during: 0..200ms, correct: enhanced}\n"
	writeFile(t, tests, asked)
	must(t, "cohort", "run", path)
	results := filepath.Join(dir, "results")
	averages := []string{filepath.Join(results, "group", "group_go_average.tsv"),
		filepath.Join(results, "group", "group_stop_average.tsv")}
	compare := func(more ...string) string {
		return must(t, append(append([]string{"compare"}, averages...), more...)...)
	}
	record := readText(t, filepath.Join(results, "tables", "gs.json"))
	declaration := "The test was declared in tests.yaml (SHA-256 " + sumOf(t, tests)[:12] +
		"…) before the averages were made."
	if strings.Count(record, declaration) != 3 { // in words, as a remark, for the methods
		t.Errorf("%q is not told, nor kept for the methods:\n%s", declaration, record)
	}
	if index := readText(t, filepath.Join(results, "index.html")); !strings.Contains(index, declaration+" <a href=") {
		t.Errorf("the index does not tell of it: %s", index)
	}
	methods := must(t, "methods", filepath.Join(results, "tables", "gs.tsv"))
	if !strings.Contains(strings.Join(strings.Fields(methods), " "), declaration) {
		t.Errorf("methods: %s", methods)
	}
	changed := filepath.Join(dir, "changed.yaml")
	writeFile(t, changed, asked+"# read once more\n")
	out := filepath.Join(results, "tables", "again.tsv")
	for want, args := range map[string][]string{
		"The test was not declared before the averages were made.": nil,
		"The test is none of those declared in tests.yaml":         {"--declared", tests, "--correct", "clusters"},
		"The test stands in changed.yaml": {"--declared", changed, "--during", "0..200ms", "--correct", "enhanced",
			"--force"},
		"The same averages were tested before (gs.tsv: enhanced over 0..200ms, ": {"--during", "0..100ms"},
	} {
		said := compare(append(args, "-o", out, "--force")...)
		if !strings.Contains(said, want) {
			t.Errorf("%v: %q is not said:\n%s", args, want, said)
		}
		os.Remove(out)
	}
	said := compare("--during", "0..200ms", "--correct", "enhanced", "-o", out, "--force")
	if strings.Contains(said, "tested before") {
		t.Errorf("the same test is told as another: %s", said)
	}
	figure := filepath.Join(dir, "gs.svg")
	compare("--during", "0..200ms", "--correct", "enhanced", "--declared", tests, "-o", figure)
	if text := plainText(readText(t, figure)); !strings.Contains(text, "declared in tests.yaml") {
		t.Errorf("the figure does not say that the test was declared")
	}
}

// A file of declared tests reads, or is refused in one line, whatever it holds.
func FuzzReadDeclared(f *testing.F) {
	for _, text := range []string{
		"compare: {inputs: [known, novel], during: 100..250ms, correct: enhanced}\n",
		"compare:\n  - {inputs: [a, b]}\n  - {inputs: [a, c], level: 0.01, name: x.tsv}\n",
		"recordings: data\ncompare: []\n", "compare: {inputs: *a}\n", "compare: {? [a]: b}\n", "[]", "",
	} {
		f.Add([]byte(text))
	}
	path := filepath.Join(f.TempDir(), "tests.yaml")
	f.Fuzz(func(t *testing.T, text []byte) {
		defer hostile.Budget(t, len(text))()
		if err := os.WriteFile(path, text, 0o666); err != nil {
			t.Fatal(err)
		}
		file := declared.File{Path: path}
		if err := file.Read(func() *cobra.Command { return freshVerb("compare") }); err != nil &&
			strings.ContainsAny(err.Error(), "\r\n") {
			t.Errorf("more than one line: %q", err)
		}
	})
}

// Files that declare nothing, or what is no test, are told with their line.
func TestDeclaredMistakes(t *testing.T) {
	dir := t.TempDir()
	known, novel := lateral(t, dir, 3)
	file := filepath.Join(dir, "tests.yaml")
	for text, want := range map[string]string{
		"":                       "is empty: expected compare:",
		"figures: []":            "declares no test: expected a section such as compare:",
		"compare: {inputs: [a]}": "line 1: inputs are 1: expected the two that are compared",
		"compare: {}":            "line 1: inputs are 0",
		"compare: clusters":      "line 1: expected keys with values",
		"compare: {inputs: [a, b], duing: 0..1ms}":                          `there is no key "duing": did you mean during?`,
		"compare: {inputs: [a, b], correct: all}":                           "expected clusters, largest, fdr or enhanced",
		"compare:\n  - {inputs: [a, b]}\n  - {inputs: [a, b], level: much}": "line 3: level:",
		"compare: {inputs: [a, b], \xff}":                                   "tests.yaml",
	} {
		writeFile(t, file, text)
		err := calotteFails("compare", known, novel, "--in", filepath.Join(dir, "people"), "--declared", file)
		if !strings.Contains(err, want) || !strings.Contains(err, "tests.yaml") || strings.Count(err, "\n") > 1 {
			t.Errorf("%q: %q, want %q", text, err, want)
		}
	}
}
