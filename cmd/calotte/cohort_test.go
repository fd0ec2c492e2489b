package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"calotte/cmd/internal/cohort"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
)

const smallRecipe = `name: pilots
recordings: data
average:
  condition: [go=go, stop=stop]
  epoch: -100..300ms
differences: ['go,stop']
components: {name: measures.tsv, inputs: people, window: 100..200ms}
values: {name: values.tsv, inputs: go, at: 100ms}
figures:
  - {figure: map, name: maps.svg, at: 100ms}
explore: {name: study.html}
`

// smallStudy is a BIDS folder of three people, and a recipe for it.
func smallStudy(t *testing.T, recipe string) (dir, path string) {
	t.Helper()
	dir = t.TempDir()
	for i := range 3 {
		id := fmt.Sprintf("sub-%02d", i+1)
		sessionFile{events: true, factor: 1 + .3*float64(i)}.write(t,
			filepath.Join(dir, "data", id, "eeg", id+"_task-flags_eeg.edf"))
	}
	return dir, writeFile(t, filepath.Join(dir, "recipe.yaml"), recipe)
}

// results are the contents of all that a study made, by path; its records are
// left out, since they hold times.
func results(t *testing.T, dir string) map[string]string {
	t.Helper()
	all := map[string]string{}
	for _, path := range listing(t, dir) {
		in, err := filepath.Rel(dir, path)
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasPrefix(in, "status") {
			continue
		}
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		all[in] = string(text)
	}
	return all
}

func sameResults(t *testing.T, got, want map[string]string) {
	t.Helper()
	for path, text := range want {
		if got[path] != text {
			t.Errorf("%s differs, or is not there", path)
		}
	}
	for path := range got {
		if _, ok := want[path]; !ok {
			t.Errorf("%s is there, and should not be", path)
		}
	}
}

// just is how many tasks a run did, by what it prints.
func just(t *testing.T, path string) int {
	t.Helper()
	out := must(t, "cohort", "run", path)
	var people, all, done, tasks, fresh int
	if _, err := fmt.Sscanf(strings.ReplaceAll(out, "person", "people"),
		"pilots: %d of %d people, %d of %d tasks done (%d just now", &people, &all, &done, &tasks,
		&fresh); err != nil {
		t.Fatalf("%q: %v", out, err)
	}
	return fresh
}

// A study is done once; a second run does what has changed and nothing else,
// and ends with the same bytes as one that had begun with it.
func TestCohortDoesWhatChanged(t *testing.T) {
	dir, path := smallStudy(t, smallRecipe)
	plan := must(t, "cohort", "plan", path)
	if n := strings.Count(plan, "$ calotte "); n != 9 { // 3 people, 2 combinations, 4 items
		t.Errorf("the plan has %d command lines:\n%s", n, plan)
	}
	if _, err := os.Stat(filepath.Join(dir, "results")); err == nil {
		t.Error("the plan has made something")
	}
	for _, step := range []struct {
		what   string
		change func()
		fresh  int
	}{
		{"at first", func() {}, 9},
		{"again", func() {}, 0},
		{"after a figure was removed",
			func() { os.Remove(filepath.Join(dir, "results", "figures", "maps.svg")) },
			1},
		{"after a table was changed",
			func() { writeFile(t, filepath.Join(dir, "results", "tables", "values.tsv"), "mine\n") }, 1},
		{"after one latency was changed", func() {
			writeFile(t, path, strings.Replace(smallRecipe, "at: 100ms}\nexplore", "at: 150ms}\nexplore",
				1))
		}, 1},
		{"after one person was treated otherwise",
			func() { writeFile(t, path, smallRecipe+"people:\n  sub-02: {repair: [Cz]}\n") }, 1 + 2 + 4},
	} {
		step.change()
		if fresh := just(t, path); fresh != step.fresh {
			t.Errorf("%s: %d tasks were done, want %d", step.what, fresh, step.fresh)
		}
	}
	// Files that have lain for a while are known by size and time.
	for _, file := range listing(t, dir) {
		if err := os.Chtimes(file, time.Unix(1e9, 0), time.Unix(1e9, 0)); err != nil {
			t.Fatal(err)
		}
	}
	for range 2 {
		if fresh := just(t, path); fresh != 0 {
			t.Errorf("of files that are old: %d tasks were done", fresh)
		}
	}
	must(t, "cohort", "status", path)
	got := results(t, filepath.Join(dir, "results"))
	other, path := smallStudy(t, smallRecipe+"people:\n  sub-02: {repair: [Cz]}\n")
	must(t, "cohort", "run", path)
	sameResults(t, got, results(t, filepath.Join(other, "results")))
	for _, name := range []string{"dataset_description.json", "index.html", "quality.tsv", "methods.txt",
		"study.html",
		"figures/maps.svg", "tables/measures.tsv", "group/pilots_go-stop_average.tsv",
		"sub-02/sub-02_go_average.json"} {
		if got[filepath.FromSlash(name)] == "" {
			t.Errorf("there is no %s", name)
		}
	}
	if !strings.Contains(got["quality.tsv"], "sub-02\tgo\t") || !strings.Contains(got["quality.tsv"], "Cz") {
		t.Errorf("the quality is\n%s", got["quality.tsv"])
	}
	if text := must(t, "origin", filepath.Join(dir, "results", "figures", "maps.svg")); !strings.Contains(text,
		"sub-03_task-flags_eeg.edf") {
		t.Errorf("the origin of a figure does not reach the recordings:\n%s", text)
	}
	if out := must(t, "cohort", "run", path, "--seed", "2"); !strings.Contains(out, "9 just now") {
		t.Errorf("another seed does not begin anew: %s", out)
	}
	// What the recipe no longer asks for goes, where it is still as it was
	// made.
	writeFile(t, path, strings.Replace(smallRecipe, "values: {name: values.tsv, inputs: go, at: 100ms}\n", "", 1))
	must(t, "cohort", "run", path)
	if _, err := os.Stat(filepath.Join(other, "results", "tables", "values.tsv")); err == nil {
		t.Error("a table that is no longer asked for stays")
	}
}

// Who fails is told, and does not stop the others.
func TestCohortFailures(t *testing.T) {
	dir, path := smallStudy(t, smallRecipe)
	sessionFile{events: false}.write(t, filepath.Join(dir, "data", "sub-02", "eeg", "sub-02_task-flags_eeg.edf"))
	writeFile(t, filepath.Join(dir, "data", "sub-04", "eeg", "sub-04_task-flags_channels.tsv"),
		"name\ttype\tunits\n")
	writeFile(t, filepath.Join(dir, "data", "sub-04\nfalse", "README"), "nothing\n")
	stdout, stderr, code := calotte("cohort", "run", path)
	for line := range strings.Lines(stderr) {
		if strings.HasPrefix(line, "false") {
			t.Errorf("a name that breaks lines: %q", stderr)
		}
	}
	if code != console.Failed || !strings.Contains(stderr, "average sub-02") ||
		!strings.Contains(stderr, "average sub-04") {
		t.Errorf("exit %d: %s", code, stderr)
	}
	if !strings.Contains(stdout, "2 of 5 people") {
		t.Errorf("it says %q", stdout)
	}
	status := must(t, "cohort", "status", path)
	if rows := cellsOf(t, status); rows[0]["state"] != "done" || rows[1]["state"] != "failed" ||
		!strings.Contains(rows[1]["error"], "no events") || rows[3]["state"] != "failed" {
		t.Errorf("the status is\n%s", status)
	}
	got := results(t, filepath.Join(dir, "results"))
	if !strings.Contains(got["index.html"], "What is not in here") ||
		!strings.Contains(got["quality.tsv"], "sub-04\tn/a") {
		t.Error("the index or the table of quality does not tell of the failure")
	}
	if !strings.Contains(got[filepath.FromSlash("group/pilots_go_average.json")], "sub-03") {
		t.Error("the group is not made of the others")
	}
	// Fixed, it goes on.
	sessionFile{events: true, factor: 1.3}.write(t,
		filepath.Join(dir, "data", "sub-02", "eeg", "sub-02_task-flags_eeg.edf"))
	os.RemoveAll(filepath.Join(dir, "data", "sub-04"))
	os.RemoveAll(filepath.Join(dir, "data", "sub-04\nfalse"))
	if fresh := just(t, path); fresh != 1+2+4 {
		t.Errorf("%d tasks were done after one was fixed", fresh)
	}
	other, path := smallStudy(t, smallRecipe)
	must(t, "cohort", "run", path)
	sameResults(t, results(t, filepath.Join(dir, "results")), results(t, filepath.Join(other, "results")))
}

// Tables beside recordings count, also where recordings are named one by one;
// what failed leaves nothing of before that could be taken for its result; a
// list is one value where a flag is not repeated; and two recipes do not share
// results.
func TestCohortFindings(t *testing.T) {
	dir, path := smallStudy(t,
		strings.Replace(smallRecipe, "recordings: data", "recordings: data/sub-*/eeg/*_eeg.edf", 1))
	events := filepath.Join(dir, "data", "sub-01", "eeg", "sub-01_task-flags_events.tsv")
	table := "onset\tduration\ttrial_type\n1\t0\tgo\n2\t0\tgo\n3\t0\tgo\n1.5\t0\tstop\n2.5\t0\tstop\n"
	writeFile(t, events, table)
	must(t, "cohort", "run", path)
	writeFile(t, events, table+"4\t0\tgo\n")
	if status := must(t, "cohort", "status", path); !strings.Contains(status, "average sub-01\tchanged") ||
		!strings.Contains(status, "average sub-02\tdone") {
		t.Errorf("another table of events: %s", status)
	}
	must(t, "cohort", "run", path)
	if rows := cellsOf(t, readText(t, filepath.Join(dir, "results", "quality.tsv"))); rows[0]["kept"] != "4" {
		t.Errorf("%s epochs of 4", rows[0]["kept"])
	}
	// sub-02 gets another reference, so that nothing can be combined.
	recipe := readText(t, path)
	writeFile(t, path, recipe+"people: {'02': {reference: [Cz, Pz]}}\n")
	if text := calotteFails("cohort", "run", path); !strings.Contains(text, "combine pilots") {
		t.Errorf("other references: %s", text)
	}
	got := results(t, filepath.Join(dir, "results"))
	if info := got[filepath.FromSlash("sub-02/sub-02_go_average.json")]; !strings.Contains(info,
		`"reference": "mean of Cz,Pz"`) {
		t.Error("a list of two references is not one reference")
	}
	for _, name := range []string{"group/pilots_go_average.tsv", "figures/maps.svg", "study.html"} {
		if _, there := got[filepath.FromSlash(name)]; there {
			t.Errorf("%s is of before, and still there", name)
		}
	}
	// A condition of another name takes the place of the old one's files.
	writeFile(t, path, strings.NewReplacer("stop=stop", "halt=stop", "go,stop", "go,halt").Replace(recipe))
	calotte("cohort", "run", path)
	if _, err := os.Stat(filepath.Join(dir, "results", "sub-01", "sub-01_stop_average.tsv")); err == nil {
		t.Error("the average of a condition that is no more stays")
	}
	for _, other := range []string{filepath.Join(dir, "other.yaml"),
		filepath.Join(dir, "elsewhere", "recipe.yaml")} {
		writeFile(t, other, strings.NewReplacer("recordings: data", "recordings: "+filepath.Join(dir, "data"),
			"name: pilots", "name: pilots\nresults: "+filepath.Join(dir, "results")).Replace(recipe))
		if text := calotteFails("cohort", "run", other); !strings.Contains(text, "recipe.yaml") ||
			!strings.Contains(text, "--force") {
			t.Errorf("another recipe: %s", text)
		}
	}
	// A run that is refused, since another is at work, leaves whose results
	// they are.
	unlock := atWork(t, dir)
	calotteFails("cohort", "run", "--force", filepath.Join(dir, "other.yaml"))
	unlock()
	writeFile(t, path, recipe)
	must(t, "cohort", "run", path)
	// What a person put there stays; when nobody is left, nothing of the
	// group is shown.
	mine := writeFile(t, filepath.Join(dir, "results", "sub-01", "sub-01_go_notes.txt"), "mine\n")
	writeFile(t, path, strings.Replace(recipe, "-100..300ms", "-100..300ms\n  reject: 0.001uV", 1))
	calotteFails("cohort", "run", path)
	if readText(t, mine) != "mine\n" {
		t.Error("a note is gone")
	}
	got = results(t, filepath.Join(dir, "results"))
	for name := range got {
		if strings.HasPrefix(name, "group") || strings.HasPrefix(name, "figures") || name == "study.html" {
			t.Errorf("nobody is left, and %s is there", name)
		}
	}
}

// atWork holds the sign of a run at work in the results of a study.
func atWork(t *testing.T, dir string) (unlock func()) { return held(t, filepath.Join(dir, "results")) }

// held holds the sign of a run at work in a folder of results.
func held(t *testing.T, results string) (unlock func()) {
	t.Helper()
	folder, err := disk.OpenFolder(results)
	if err != nil {
		t.Fatal(err)
	}
	defer folder.Close()
	unlock, ok, err := folder.TryLock("status/.lock", false)
	if err != nil || !ok {
		t.Fatal(ok, err)
	}
	return unlock
}

// An interrupt leaves what is done, and two runs do not share a folder.
func TestCohortInterrupted(t *testing.T) {
	dir, path := smallStudy(t, smallRecipe)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	var out, errs bytes.Buffer
	err := run(ctx, []string{"cohort", "run", path}, strings.NewReader(""), &out, &errs)
	if code := console.Report(&errs, err); code != console.Interrupted {
		t.Errorf("exit %d: %s", code, errs.String())
	}
	unlock := atWork(t, dir)
	if text := calotteFails("cohort", "run", path); !strings.Contains(text, "another run is at work") {
		t.Errorf("a second run: %s", text)
	}
	unlock()
	if fresh := just(t, path); fresh != 9 {
		t.Errorf("%d tasks after the interrupt", fresh)
	}
}

// What init writes is a recipe: it reads, and its schema knows all of its keys.
func TestCohortInit(t *testing.T) {
	dir, _ := smallStudy(t, smallRecipe)
	t.Chdir(dir)
	text := must(t, "cohort", "init", "data")
	for _, want := range []string{"go (10), stop (10)", "go=go", "differences: ['go,stop']", "3 participants"} {
		if !strings.Contains(text, want) {
			t.Errorf("the recipe does not say %q:\n%s", want, text)
		}
	}
	path := writeFile(t, filepath.Join(dir, "init.yaml"),
		strings.NewReplacer("-200..800ms", "-100..300ms", "highpass: 0.1Hz", "", "lowpass: 30Hz", "",
			"170ms, 300ms",
			"170ms", "0..600ms", "0..200ms").Replace(text))
	if _, stderr, code := calotte("cohort", "run", path); code != console.OK {
		t.Errorf("it does not run: %s", stderr)
	}
	var schema struct{ Properties map[string]any }
	if err := json.Unmarshal([]byte(must(t, "cohort", "schema")), &schema); err != nil {
		t.Fatal(err)
	}
	for _, key := range cohort.Keys() {
		if schema.Properties[key] == nil {
			t.Errorf("the schema does not know %s", key)
		}
	}
	if len(schema.Properties) != len(cohort.Keys()) {
		t.Errorf("the schema has %d keys, recipes have %d", len(schema.Properties), len(cohort.Keys()))
	}
}

func writeScript(t *testing.T, path, text string) {
	t.Helper()
	writeFile(t, path, "#!/bin/sh\n"+text)
	if err := os.Chmod(path, 0o777); err != nil {
		t.Fatal(err)
	}
}

func readText(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// sumOf is the SHA-256 of a file.
func sumOf(t *testing.T, path string) string {
	t.Helper()
	return sumOfText(readText(t, path))
}

func sumOfText(text string) string {
	sum := sha256.Sum256([]byte(text))
	return hex.EncodeToString(sum[:])
}
