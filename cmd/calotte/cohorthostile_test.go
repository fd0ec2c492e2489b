//go:build unix

package main

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"calotte/cmd/internal/console"
)

// recordOf is a record of a task that made one file.
func recordOf(task, path, sum string) string {
	return fmt.Sprintf(`{"task": %q, "key": %q, "state": "done", "seconds": 1, "files": [{"path": %q, "sha256": %q}]}`,
		task, strings.Repeat("0", 64), path, sum)
}

// all are the contents of the files below a folder, by path, links and devices
// aside.
func all(t *testing.T, dir string) map[string]string {
	t.Helper()
	found := map[string]string{}
	for _, path := range listing(t, dir) {
		if info, err := os.Lstat(path); err == nil && info.Mode().IsRegular() {
			found[path] = readText(t, path)
		}
	}
	return found
}

// A record that lists files which no task made is refused by name, and nothing
// is removed.
func TestCohortRemovesNoInputs(t *testing.T) {
	dir, path := smallStudy(t,
		strings.Replace(smallRecipe, "components: {", "components: {windows: results/tables/windows.tsv, ", 1))
	writeFile(t, path, strings.Replace(readText(t, path), ", window: 100..200ms", "", 1)+"participants: [1, 2]\n")
	git := writeFile(t, filepath.Join(dir, "results", ".git", "HEAD"), "ref: refs/heads/main\n")
	windows := writeFile(t, filepath.Join(dir, "results", "tables", "windows.tsv"),
		"name\twindow\nearly\t100..200ms\n")
	must(t, "cohort", "run", path, "--force")
	edf := filepath.Join(dir, "data", "sub-01", "eeg", "sub-01_task-flags_eeg.edf")
	status := filepath.Join(dir, "results", "status")
	before := all(t, dir)
	for _, task := range []string{"average sub-01", "map other.svg"} { // of the plan, and of none
		record := filepath.Join(status, strings.Replace(task, " ", "_", 1)+".json")
		for _, listed := range []string{
			"../data/sub-01/eeg/" + filepath.Base(edf),
			"sub-01/../../data/sub-01/eeg/" + filepath.Base(edf),
			edf,
			"status/hashes.json", "STATUS/hashes.json", "", ".", "sub-01/", ".git/HEAD",
			"tables/windows.tsv",
			"index.html", "sub-01/deeper/sub-01_go_average.tsv",
		} {
			sum := sumOf(t, edf)
			if text, there := before[filepath.Join(dir, "results",
				filepath.FromSlash(strings.ToLower(listed)))]; there {
				sum = sumOfText(text)
			}
			writeFile(t, record, recordOf(task, listed, sum))
			for _, verb := range []string{"run", "plan", "status"} {
				_, stderr, code := calotte("cohort", verb, path)
				if code != console.Failed || strings.Count(stderr, "\n") != 1 ||
					!strings.Contains(stderr, record) ||
					!strings.Contains(stderr, "remove it") {
					t.Errorf("%s, a record that lists %q: exit %d: %s", verb, listed, code, stderr)
				}
			}
			if err := os.Remove(record); err != nil {
				t.Fatal(err)
			}
			if old, was := before[record]; was {
				writeFile(t, record, old)
			}
		}
		now := all(t, dir)
		sameResults(t, now, before)
	}
	// An input in the results, and recordings under other names there, one
	// of them of somebody whom the recipe does not choose.
	others := map[string]string{
		filepath.Join(dir, "results", "figures", "other.svg"): edf,
		filepath.Join(dir, "results", "figures", "third.svg"): strings.ReplaceAll(edf, "sub-01", "sub-03"),
	}
	for link, to := range others {
		if err := os.Link(to, link); err != nil {
			t.Skip(err)
		}
		name := filepath.Base(link)
		writeFile(t, filepath.Join(status, "map_"+name+".json"),
			recordOf("map "+name, "figures/"+name, sumOf(t, to)))
	}
	writeFile(t, filepath.Join(status, "values_windows.tsv.json"),
		recordOf("values windows.tsv", "tables/windows.tsv", sumOf(t, windows)))
	must(t, "cohort", "run", path)
	for _, file := range append(slices.Collect(maps.Keys(others)), edf, git, windows) {
		if _, err := os.Stat(file); err != nil {
			t.Error(err)
		}
	}
	for _, record := range []string{"map_other.svg.json", "map_third.svg.json", "values_windows.tsv.json"} {
		if _, err := os.Stat(filepath.Join(status, record)); err == nil {
			t.Errorf("%s, of a task that nobody asks for, is still there", record)
		}
	}
}

// Links, pipes and giants in the results are refused by name, or make no
// difference; what lies outside of the results is left alone.
func TestCohortHostileResults(t *testing.T) {
	link := func(to string) func(*testing.T, string) {
		return func(t *testing.T, path string) {
			if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
				t.Fatal(err)
			}
			if err := os.RemoveAll(path); err != nil {
				t.Fatal(err)
			}
			if err := os.Symlink(to, path); err != nil {
				t.Fatal(err)
			}
		}
	}
	pipe := func(t *testing.T, path string) {
		if err := os.RemoveAll(path); err != nil {
			t.Fatal(err)
		}
		if err := syscall.Mkfifo(path, 0o666); err != nil {
			t.Skip(err)
		}
	}
	giant := func(t *testing.T, path string) {
		if err := os.Truncate(path, 1<<40); err != nil {
			t.Skip(err)
		}
	}
	content := func(text string) func(*testing.T, string) {
		return func(t *testing.T, path string) { writeFile(t, path, text) }
	}
	whole, path := smallStudy(t, smallRecipe)
	must(t, "cohort", "run", path)
	want := results(t, filepath.Join(whole, "results"))
	for _, c := range []struct {
		name   string
		path   string // in the results
		change func(*testing.T, string)
		refuse []string // words of the one line; nil: the run ends well, with the results of any other
	}{
		{"the records elsewhere", "status", link("../outside"),
			[]string{"results/status leads out of", "in place of the link"}},
		{"the records by a full path", "status", link("/tmp"),
			[]string{"results/status leads out of", "in place of the link"}},
		{"the lock elsewhere", "status/.lock", link("../../outside/file"),
			[]string{"status/.lock", "remove it"}},
		{"the lock nowhere", "status/.lock", link("../../outside/new"), []string{"status/.lock", "remove it"}},
		{"the lock a pipe", "status/.lock", pipe, []string{"status/.lock", "remove it"}},
		{"a record elsewhere", "status/average_sub-01.json", link("../../outside/record"),
			[]string{"average_sub-01.json leads out of"}},
		{"a record a pipe", "status/average_sub-01.json", pipe,
			[]string{"average_sub-01.json is no file", "remove it"}},
		{"a record a giant", "status/average_sub-01.json", giant,
			[]string{"average_sub-01.json holds", "remove it"}},
		{"a record without an end", "status/average_sub-01.json", content(`{"task": "average sub-01", `),
			[]string{"average_sub-01.json is no record", "remove it"}},
		{"a record of nothing", "status/average_sub-01.json", content("null"),
			[]string{"average_sub-01.json is no record", "null"}},
		{"a record of a list", "status/average_sub-01.json", content("[1]"),
			[]string{"average_sub-01.json is no record"}},
		{"a record of another", "status/average_sub-01.json",
			content(recordOf("average sub-02", "sub-02/sub-02_a_sem.tsv", strings.Repeat("0", 64))),
			[]string{"average_sub-01.json is no record", "average_sub-02.json"}},
		{"a record of no state", "status/average_sub-01.json",
			content(strings.Replace(recordOf("average sub-01", "a", strings.Repeat("0", 64)), "done",
				"settled",
				1)),
			[]string{"average_sub-01.json", `"settled"`, "done"}},
		{"a record of no hash", "status/average_sub-01.json", content(recordOf("average sub-01", "a", "0")),
			[]string{"average_sub-01.json", "64 hexadecimal"}},
		{"a record of no time", "status/average_sub-01.json",
			content(strings.Replace(recordOf("average sub-01", "a", strings.Repeat("0", 64)),
				`"seconds": 1`,
				`"seconds": -1`, 1)), []string{"average_sub-01.json", "seconds"}},
		{"a record of a text for a number", "status/average_sub-01.json",
			content(`{"task": "average sub-01", "seconds": "1"}`),
			[]string{"average_sub-01.json", "seconds"}},
		{"a record with an escape", "status/average_sub-01.json",
			content(`{"task": "average sub-01", "state": "failed", "error": "\u001b[2J"}`),
			[]string{"average_sub-01.json", "line of text"}},
		{"hashes of nothing", "status/hashes.json", content("null"),
			[]string{"hashes.json", "null", "remove it"}},
		{"hashes of a list", "status/hashes.json", content("[]"), []string{"hashes.json", "remove it"}},
		{"hashes that are none", "status/hashes.json", content(`{"0": {"size": 1}}`),
			[]string{"hashes.json", "sha256", "remove it"}},
		{"hashes a pipe", "status/hashes.json", pipe, []string{"hashes.json is no file", "remove it"}},
		{"hashes a giant", "status/hashes.json", giant, []string{"hashes.json holds", "remove it"}},
		{"an owner of nothing", "status/owner.json", content("null"),
			[]string{"owner.json", "null", "--force"}},
		{"an owner of a number", "status/owner.json", content(`{"recipe": 1}`),
			[]string{"owner.json", "--force"}},
		{"an owner without a place", "status/owner.json", content(`{"recipe": "recipe.yaml"}`),
			[]string{"owner.json", "--force"}},
		{"an owner a pipe", "status/owner.json", pipe, []string{"owner.json is no file", "--force"}},
		{"a person elsewhere", "sub-01", link("../outside"),
			[]string{"sub-01 leads out of results", "in place of the link"}},
		{"a person among the recordings", "sub-01", link("../data/sub-01/eeg"),
			[]string{"sub-01 leads out of results"}},
		{"the group elsewhere", "group", link("../outside"), []string{"group leads out of", "results"}},
		{"the figures elsewhere", "figures", link("../outside"), []string{"figures leads out of results"}},
		{"a figure elsewhere", "figures/maps.svg", link("../../outside/file"),
			[]string{"maps.svg leads out of results"}},
		{"an average elsewhere", "sub-01/sub-01_go_average.tsv", link("../../outside/file"),
			[]string{"sub-01_go_average.tsv leads out of results"}},
		{"the index elsewhere", "index.html", link("../outside/file"), nil},
		{"the index nowhere", "index.html", link("../outside/new"), nil},
		{"members that nobody knows", "status/average_sub-01.json", func(t *testing.T, path string) {
			writeFile(t, path, strings.Replace(readText(t, path), "{", `{"later": [1, {"a": null}],`, 1))
		}, nil},
		{"somebody's hidden file among the records", "status/._average_sub-01.json",
			content("\x00\x05\x16\x07"),
			nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			if err := os.CopyFS(dir, os.DirFS(whole)); err != nil {
				t.Fatal(err)
			}
			for name, text := range map[string]string{"file": "theirs\n",
				"record": recordOf("average sub-01", "a", strings.Repeat("0", 64))} {
				writeFile(t, filepath.Join(dir, "outside", name), text)
			}
			data, outside := all(t, filepath.Join(dir, "data")), all(t, filepath.Join(dir, "outside"))
			c.change(t, filepath.Join(dir, "results", filepath.FromSlash(c.path)))

			ended := make(chan bool)
			var stderr string
			var code int
			go func() {
				_, stderr, code = calotte("cohort", "run", filepath.Join(dir, "recipe.yaml"))
				close(ended)
			}()
			select {
			case <-ended:
			case <-time.After(time.Minute):
				t.Fatal("it waits")
			}
			if c.refuse == nil {
				if code != console.OK {
					t.Errorf("exit %d: %s", code, stderr)
				}
				sameResults(t, results(t, filepath.Join(dir, "results")), want)
			} else if code != console.Failed {
				t.Errorf("exit %d: %s", code, stderr)
			}
			line := ""
			for l := range strings.Lines(stderr) {
				if line == "" && !slices.ContainsFunc(c.refuse,
					func(w string) bool { return !strings.Contains(l, w) }) {
					line = l
				}
			}
			if c.refuse != nil && line == "" {
				t.Errorf("no line says %q:\n%s", c.refuse, stderr)
			}
			sameResults(t, all(t, filepath.Join(dir, "data")), data)
			sameResults(t, all(t, filepath.Join(dir, "outside")), outside)
		})
	}
}

// The folder of the results may be a link, and so may be recordings, as
// archives keep them.
func TestCohortLinks(t *testing.T) {
	dir, path := smallStudy(t, smallRecipe)
	for _, file := range listing(t, filepath.Join(dir, "data")) {
		kept := filepath.Join(dir, "annex", sumOf(t, file))
		if err := os.MkdirAll(filepath.Dir(kept), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.Rename(file, kept); err != nil {
			t.Fatal(err)
		}
		if err := os.Symlink(kept, file); err != nil {
			t.Skip(err)
		}
	}
	if err := os.Mkdir(filepath.Join(dir, "disk"), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("disk", filepath.Join(dir, "results")); err != nil {
		t.Fatal(err)
	}
	must(t, "cohort", "run", path)
	if fresh := just(t, path); fresh != 0 {
		t.Errorf("%d tasks were done again", fresh)
	}
	plain, path := smallStudy(t, smallRecipe)
	must(t, "cohort", "run", path)
	sameResults(t, results(t, filepath.Join(dir, "disk")), results(t, filepath.Join(plain, "results")))
}

// What a run records, the next one reads, whatever names there are.
func TestCohortOddNames(t *testing.T) {
	dir := t.TempDir()
	odd := filepath.Join(dir, "data", "x\x01\xff\ny.edf")
	sessionFile{events: true}.write(t, filepath.Join(dir, "data", "b.edf"))
	sessionFile{events: true, factor: 1.3}.write(t, filepath.Join(dir, "data", "z.edf"))
	if err := os.Rename(filepath.Join(dir, "data", "z.edf"), odd); err != nil {
		t.Skip(err)
	}
	recipe := strings.NewReplacer("recordings: data", "recordings: data/*.edf", "values.tsv", "窓\u3000一.tsv",
		"measures.tsv", "a\u00a0b.tsv").Replace(smallRecipe)
	path := writeFile(t, filepath.Join(dir, "recipe.yaml"), recipe)
	if fresh := just(t, path); fresh != 8 {
		t.Errorf("%d tasks were done", fresh)
	}
	if fresh := just(t, path); fresh != 0 {
		t.Errorf("%d tasks were done again", fresh)
	}
	if rows, code := deviating(t, path); rows != nil || code != console.OK {
		t.Errorf("exit %d: %v", code, rows)
	}
	writeFile(t, odd, "mine\n")
	if rows, _ := deviating(t, path); len(rows) != 1 || !strings.Contains(rows[0], "average sub-xy changed") {
		t.Errorf("a changed recording: %q", rows)
	}
}
