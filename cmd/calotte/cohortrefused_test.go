package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/cohort"
	"calotte/cmd/internal/console"
	"calotte/layout/hostile"
)

func TestCohortMistakes(t *testing.T) {
	dir, _ := smallStudy(t, smallRecipe)
	writeFile(t, filepath.Join(dir, "full", "mine.txt"), "mine\n")
	for _, c := range []struct {
		name, recipe string
		want         []string
	}{
		{"empty", "", []string{"empty", "cohort init"}},
		{"no YAML", "a: [", []string{"no YAML"}},
		{"a list", "- a\n", []string{"line 1", "expected keys"}},
		{"unknown key", "recordings: data\nconditions: [a]\n", []string{"line 2", `"conditions"`, "average"}},
		{"a key twice", "recordings: data\nrecordings: data\n", []string{"line 2", "already defined"}},
		{"no recordings", "average: {condition: [go=go]}\n", []string{"recordings is missing"}},
		{"no condition", "recordings: data\naverage:\n  epoch: -100..300ms\n", []string{"no condition"}},
		{"recordings that are not there", "recordings: elsewhere\naverage: {condition: [go=go]}\n",
			[]string{"elsewhere"}},
		{"a head that is not there", "recordings: data\nhead: nowhere.json\naverage: {condition: [go=go]}\n",
			[]string{"line 2", "head", "nowhere.json"}},
		{"windows that are not there",
			"recordings: data\naverage: {condition: [go=go]}\nasymmetry:\n  name: a.tsv\n  windows: " +
				"nowhere.tsv\n",
			[]string{"line 5", "nowhere.tsv"}},
		{"unknown flag", "recordings: data\naverage:\n  condition: [go=go]\n  colour: red\n",
			[]string{"line 4", `"colour"`, "reject"}},
		{"wrong unit", "recordings: data\naverage:\n  condition: [go=go]\n  reject: 150ms\n",
			[]string{"line 4", "reject", "150ms"}},
		{"no unit", "recordings: data\naverage:\n  condition: [go=go]\n  epoch: -100..300\n",
			[]string{"line 4", "epoch", "unit"}},
		{"output in the recipe", "recordings: data\naverage:\n  condition: [go=go]\n  output: elsewhere\n",
			[]string{"line 4", `"output"`}},
		{"difference of what is not there",
			"recordings: data\naverage: {condition: [go=go]}\ndifferences: ['go,halt']\n",
			[]string{"go,halt", "two of the conditions"}},
		{"a figure of nothing", "recordings: data\naverage: {condition: [go=go]}\nfigures: [{figure: " +
			"map, name: " +
			"a.svg, inputs: halt, at: 100ms}]\n", []string{"a.svg", `"halt"`, "go"}},
		{"a figure without a name",
			"recordings: data\naverage: {condition: [go=go]}\nfigures:\n  - {figure: map, at: 100ms}\n",
			[]string{"line 4", "no name"}},
		{"a figure that is none",
			"recordings: data\naverage: {condition: [go=go]}\nfigures:\n  - {figure: origin, name: a.svg}\n",
			[]string{"line 4", `"origin"`, "map"}},
		{"a name with a folder",
			"recordings: data\naverage: {condition: [go=go]}\nfigures:\n  - {figure: map, name: " +
				"../a.svg, at: 1ms}\n",
			[]string{"line 4", "without a folder"}},
		{"a name that a command takes for an option",
			"recordings: data\naverage: {condition: [go=go]}\nfigures:\n  - {figure: map, name: " +
				"-a.svg, at: 1ms}\n",
			[]string{"line 4", "hyphen"}},
		{"a study's name likewise", "name: -a\nrecordings: data\naverage: {condition: [go=go]}\n",
			[]string{"name", "hyphen"}},
		{"two files of one name",
			"recordings: data\naverage: {condition: [go=go]}\nvalues: [{name: a.tsv, at: 1ms}, " +
				"{name: a.tsv, " +
				"at: 2ms}]\n", []string{"a.tsv", "two files"}},
		{"two names but for case",
			"recordings: data\naverage: {condition: [go=go]}\nfigures: [{figure: map, name: " +
				"a.svg, at: 1ms}, " +
				"{figure: map, name: A.svg, at: 2ms}]\n", []string{"A.svg", "two files"}},
		{"a table and its JSON",
			"recordings: data\naverage: {condition: [go=go]}\nvalues: [{name: v.tsv, at: 1ms}, " +
				"{name: v.json, " +
				"at: 1ms}]\n", []string{"v.json", "two files", "v.tsv"}},
		{"marks of a comparison",
			"recordings: data\naverage: {condition: [go=go, stop=stop]}\nvalues: [{name: w_marks.tsv, " +
				"at: 1ms}]\n" +
				"compare: {name: w.tsv, inputs: [go, stop]}\n",
			[]string{"w_marks.tsv", "two files", "w.tsv"}},
		{"thousands of conditions",
			"recordings: data\naverage:\n  condition: [" + numbered("c%d=go", 3000) + "]\n",
			[]string{"line 3", "3000 conditions: expected at most 200"}},
		{"thousands of differences",
			"recordings: data\naverage: {condition: [" + numbered("c%d=go", 200) + "]}\ndifferences: [" +
				numbered("'c%d,c0'", 5000) + "]\n",
			[]string{"5000 differences of 200 conditions: expected at most 50"}},
		{"a person twice", "recordings: data\naverage: {condition: [go=go]}\npeople:\n  \"01\": " +
			"{lowpass: 8Hz}\n  " +
			"sub-01: {reject: 500uV}\n", []string{"line 5", "sub-01", "settings above"}},
		{"a condition of everybody", "recordings: data\naverage: {condition: [people=go]}\n",
			[]string{"people", "another name"}},
		{"people who are not there",
			"recordings: data\naverage: {condition: [go=go]}\npeople: {sub-77: {repair: Cz}}\n",
			[]string{"sub-77", "sub-01"}},
		{"participants who are not there",
			"recordings: data\naverage: {condition: [go=go]}\nparticipants: [77]\n",
			[]string{"77", "sub-01"}},
		{"a figure of another kind",
			"recordings: data\naverage: {condition: [go=go]}\nfigures:\n  - {figure: map, name: " +
				"a.jpg, at: 1ms}\n",
			[]string{"line 4", "a.jpg", ".png"}},
		{"a page in the place of the index",
			"recordings: data\naverage: {condition: [go=go]}\nexplore:\n  name: index.html\n",
			[]string{"line 4", "index"}},
		{"a misspelt key", "recordings: data\naverage:\n  condition: [go=go]\n  epochs: -100..300ms\n",
			[]string{"line 4", "did you mean epoch?"}},
		{"a list for a scalar", "recordings: data\naverage:\n  condition: [go=go]\n  epoch: " +
			"[-100..300ms, 0..1s]\n",
			[]string{"line 4", "epoch"}},
		{"an absurd limit", "recordings: data\naverage: {condition: [go=go], reject: 150V}\n",
			[]string{"line 2", "150uV"}},
		{"results among the recordings", "recordings: data\nresults: data\naverage: {condition: [go=go]}\n",
			[]string{"results data", "of its own"}},
		{"results above the recordings", "recordings: data\nresults: .\naverage: {condition: [go=go]}\n",
			[]string{"of its own"}},
		{"results of a person", "recordings: data\nresults: data/sub-01\naverage: {condition: [go=go]}\n",
			[]string{"of its own"}},
		{"results among other files", "recordings: data\nresults: full\naverage: {condition: [go=go]}\n",
			[]string{"full", "--force"}},
		{"not UTF-8", "name: \xff\n", []string{"UTF-8"}},
		{"a session of files", "recordings: data/sub-01/eeg/sub-01_task-flags_eeg.edf\naverage: {condition: " +
			"[go=go]}\nsession: 1\n", []string{"BIDS folder"}},
	} {
		path := writeFile(t, filepath.Join(dir, "wrong.yaml"), c.recipe)
		_, stderr, code := calotte("cohort", "run", path)
		if lines := strings.Split(strings.TrimSpace(stderr), "\n"); code == console.OK || len(lines) != 1 {
			t.Errorf("%s: exit %d: %q", c.name, code, stderr)
		}
		for _, want := range c.want {
			if !strings.Contains(stderr, want) {
				t.Errorf("%s: %q does not say %q", c.name, stderr, want)
			}
		}
	}
	if _, err := os.Stat(filepath.Join(dir, "results")); err == nil {
		t.Error("a wrong recipe has made something")
	}
	for _, args := range []string{"cohort run", "cohort dance", "cohort run a b", "cohort run RECIPE --detach",
		"cohort run RECIPE --engine cloud", "cohort run RECIPE --patience 1s",
		"cohort run RECIPE --engine slurm --patience -1s", "cohort init", "cohort check",
		"cohort task RECIPE"} {
		args = strings.Replace(args, "RECIPE", filepath.Join(dir, "recipe.yaml"), 1)
		if _, stderr, code := calotte(strings.Fields(args)...); code == console.OK ||
			strings.Count(stderr, "\n") != 1 {
			t.Errorf("%s: exit %d: %q", args, code, stderr)
		}
	}
}

// A recipe reads, or is refused in one line, whatever it holds.
func FuzzReadRecipe(f *testing.F) {
	for _, text := range []string{
		smallRecipe, alternativesRecipe, "recordings: data\naverage: {condition: [a=b]}\npeople: {1: {repair: Cz}}\n",
		"a: &a {b: *a}\n",
		"? [a, b]\n: c\n",
		"<<: {recordings: x}\n", "recordings: !!binary aGk=\n", "figures: [[[]]]\n", "explore: null\n",
		"average: |\n  text\n", "\"\": \n",
	} {
		f.Add([]byte(text))
	}
	path := filepath.Join(f.TempDir(), "recipe.yaml")
	f.Fuzz(func(t *testing.T, text []byte) {
		defer hostile.Budget(t, len(text))()
		if err := os.WriteFile(path, text, 0o666); err != nil {
			t.Fatal(err)
		}
		if _, err := cohort.Read(path, studyVerbs()); err != nil && strings.ContainsAny(err.Error(), "\r\n") {
			t.Errorf("more than one line: %q", err)
		}
	})
}

// A participant is who has the label, and only where nobody has it who has the
// number.
func TestCohortLabels(t *testing.T) {
	dir := t.TempDir()
	for i, id := range []string{"sub-003", "sub-03", "sub-05"} {
		sessionFile{events: true, factor: 1 + float64(i)}.write(t,
			filepath.Join(dir, "data", id, "eeg", id+"_eeg.edf"))
	}
	recipe := "name: pilots\nrecordings: data\naverage: {condition: [go=go], epoch: -100..300ms}\nparticipants: "
	path := writeFile(t, filepath.Join(dir, "recipe.yaml"), recipe+"['03', 5]\n")
	if plan := must(t, "cohort", "plan",
		path); strings.Contains(plan, "sub-003") || !strings.Contains(plan, "sub-03") ||
		!strings.Contains(plan, "sub-05") {
		t.Errorf("the plan is\n%s", plan)
	}
	writeFile(t, path, recipe+"[3]\n")
	if text := calotteFails("cohort", "plan", path); !strings.Contains(text, "there is no 3") {
		t.Errorf("a number of two people: %s", text)
	}
}

// numbered is a list of so many texts.
func numbered(format string, n int) string {
	var list []string
	for i := range n {
		list = append(list, fmt.Sprintf(format, i))
	}
	return strings.Join(list, ", ")
}
