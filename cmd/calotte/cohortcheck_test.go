package main

import (
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
)

// deviating are the rows of a check, with its exit code.
func deviating(t *testing.T, args ...string) (rows []string, code int) {
	t.Helper()
	stdout, _, code := calotte(append([]string{"cohort", "check"}, args...)...)
	for _, row := range cellsOf(t, stdout) {
		rows = append(rows, row["file"]+" of "+row["task"]+" "+row["state"])
	}
	return rows, code
}

// flipped changes one bit of a file in its place, and leaves its size and its
// time as they are.
func flipped(t *testing.T, path string) {
	t.Helper()
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	file, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	one := make([]byte, 1)
	if _, err := file.ReadAt(one, info.Size()/2); err != nil {
		t.Fatal(err)
	}
	one[0] ^= 1
	if _, err := file.WriteAt(one, info.Size()/2); err != nil {
		t.Fatal(err)
	}
	if err := os.Chtimes(path, info.ModTime(), info.ModTime()); err != nil {
		t.Fatal(err)
	}
}

// A change that keeps size and time is seen; one that nothing but the content
// tells is found where all is read.
func TestCohortCheck(t *testing.T) {
	dir, path := smallStudy(t, smallRecipe)
	edf := filepath.Join(dir, "data", "sub-02", "eeg", "sub-02_task-flags_eeg.edf")
	for _, file := range listing(t, dir) {
		if err := os.Chtimes(file, time.Unix(1e9, 0), time.Unix(1e9, 0)); err != nil {
			t.Fatal(err)
		}
	}
	if rows, code := deviating(t, "--read-data", path); rows != nil || code != console.OK {
		t.Errorf("before anything is done: exit %d: %v", code, rows)
	}
	if _, err := os.Stat(filepath.Join(dir, "results")); err == nil {
		t.Error("a check has made something")
	}
	must(t, "cohort", "run", path)
	fine := func(what string, args ...string) {
		t.Helper()
		if rows, code := deviating(t, append(args, path)...); rows != nil || code != console.OK {
			t.Errorf("%s: exit %d: %v", what, code, rows)
		}
	}
	differs := func(what string, want []string, args ...string) {
		t.Helper()
		if rows, code := deviating(t, append(args, path)...); !slices.Equal(rows, want) ||
			code != console.Failed {
			t.Errorf("%s: exit %d: %v", what, code, rows)
		}
	}
	fine("just done")
	time.Sleep(2200 * time.Millisecond) // what is fresh is read in any case
	fine("all of it read", "--read-data")
	recorded := []string{"sub-02_task-flags_eeg.edf of average sub-02 changed"}

	flipped(t, edf)
	if status := must(t, "cohort", "status", path); !strings.Contains(status, "average sub-02\tchanged") ||
		!strings.Contains(status, "average sub-01\tdone") {
		t.Errorf("a change that keeps size and time: %s", status)
	}
	differs("a change that keeps size and time", recorded)
	flipped(t, edf)
	fine("changed back")

	// A disk that loses a bit changes nothing that is known of the file: so
	// it is where what is known is of the file as it is now, with the hash
	// of before.
	before := sumOf(t, edf)
	flipped(t, edf)
	time.Sleep(2200 * time.Millisecond)
	differs("all of it read", recorded, "--read-data")
	hashes := filepath.Join(dir, "results", "status", "hashes.json")
	if !strings.Contains(readText(t, hashes), sumOf(t, edf)) {
		t.Fatal("what was found is not kept")
	}
	writeFile(t, hashes, strings.ReplaceAll(readText(t, hashes), sumOf(t, edf), before))
	fine("a lost bit, unread")
	if fresh := just(t, path); fresh != 0 {
		t.Errorf("a lost bit, unread: %d tasks were done", fresh)
	}
	differs("a lost bit", recorded, "--read-data")
	if fresh := just(t, path); fresh == 0 {
		t.Error("what a check has found is not done again")
	}
	fine("done again", "--read-data")

	// Results, and what came to a recording.
	writeFile(t, filepath.Join(dir, "results", "tables", "values.tsv"), "mine\n")
	if err := os.Remove(filepath.Join(dir, "results", "figures", "maps.svg")); err != nil {
		t.Fatal(err)
	}
	writeFile(t, filepath.Join(dir, "data", "sub-03", "eeg", "sub-03_task-flags_events.tsv"),
		"onset\tduration\ttrial_type\n1\t0\tgo\n2\t0\tstop\n")
	differs("results", []string{
		"sub-03_task-flags_events.tsv of average sub-03 added",
		"tables/values.tsv of values values.tsv changed",
		"figures/maps.svg of map maps.svg missing",
	})
	restore := disk.Observe(func(c disk.Call) error {
		if c.Op == disk.Making {
			return &fs.PathError{Op: "open", Path: c.Path, Err: fs.ErrPermission}
		}
		return nil
	})
	if rows, code := deviating(t, "--read-data", path); len(rows) != 3 || code != console.Failed {
		t.Errorf("results that can only be read: exit %d: %v", code, rows)
	}
	restore()
	unlock := atWork(t, dir)
	if text := calotteFails("cohort", "check", "--read-data", path); !strings.Contains(text,
		"another run is at work") {
		t.Errorf("beside a run: %s", text)
	}
	unlock()
}

// What tells of all results is of what is there, or is known to be open: where
// something is done again it goes first.
func TestCohortReports(t *testing.T) {
	dir, path := smallStudy(t, smallRecipe)
	must(t, "cohort", "run", path)
	in := func(name string) string { return filepath.Join(dir, "results", name) }
	state := func(want string) {
		t.Helper()
		if status := must(t, "cohort", "status", path); !strings.Contains(status, "report index.html\t"+want) {
			t.Errorf("the reports are not %s:\n%s", want, status)
		}
	}
	before := infoOf(t, in("index.html"))
	if fresh := just(t, path); fresh != 0 || !os.SameFile(before, infoOf(t, in("index.html"))) {
		t.Error("what tells of the same was written again")
	}
	state("done")
	writeFile(t, in("quality.tsv"), "mine\n")
	if err := os.Remove(in("index.html")); err != nil {
		t.Fatal(err)
	}
	want := []string{"index.html of report index.html missing", "quality.tsv of report index.html changed"}
	for _, args := range [][]string{{path}, {"--read-data", path}} {
		if rows, code := deviating(t, args...); !slices.Equal(rows, want) || code != console.Failed {
			t.Errorf("exit %d: %v", code, rows)
		}
	}
	state("changed")
	if fresh := just(t, path); fresh != 0 {
		t.Errorf("%d tasks were done again", fresh)
	}
	state("done")

	writeFile(t, path, strings.Replace(smallRecipe, "-100..300ms", "-100..250ms", 1))
	if err := os.Remove(in("quality.tsv")); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(in("quality.tsv"), 0o777); err != nil {
		t.Fatal(err)
	}
	state("changed")
	calotteFails("cohort", "run", path) // as killed before it tells
	if err := os.Remove(in("quality.tsv")); err != nil {
		t.Fatal(err)
	}
	state("open")
	for _, name := range []string{"index.html", "methods.txt", "dataset_description.json"} {
		if _, err := os.Stat(in(name)); err == nil {
			t.Errorf("%s is of before, and still there", name)
		}
	}
	must(t, "cohort", "run", path)
	state("done")
	if rows, code := deviating(t, "--read-data", path); rows != nil || code != console.OK {
		t.Errorf("done again: exit %d: %v", code, rows)
	}
}

func infoOf(t *testing.T, path string) os.FileInfo {
	t.Helper()
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	return info
}
