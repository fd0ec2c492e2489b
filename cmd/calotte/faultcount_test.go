//go:build unix

package main

import (
	"context"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/disk"
)

// faultsEnvironment names the variable that, when it says "all", has every
// request to the system fail once. Without it every few fail, since all of them
// take minutes.
const faultsEnvironment = "CALOTTE_FAULTS"

// fewer is every how manieth request fails where not all do.
const fewer = 13

// leanRecipe is a study that takes few requests.
const leanRecipe = `name: pilots
recordings: data
average:
  condition: [go=go, stop=stop]
  epoch: -100..300ms
differences: ['go,stop']
values: {name: values.tsv, inputs: go, at: 100ms}
figures:
  - {figure: traces, name: waves.svg}
`

// A trial is a command line that replaces what an earlier one has made.
type trial struct {
	name     string
	old, new []string // OUT stands for the folder of the outputs, IN for that of the inputs
}

func (tr trial) args(line []string, in, out string) []string {
	var args []string
	for _, word := range line {
		args = append(args, strings.NewReplacer("IN/", in+"/", "OUT", out).Replace(word))
	}
	return append(args, "--force", "--quiet", "--jobs", "1")
}

// averageOf is a line that averages the recording of the inputs.
func averageOf(reference string) []string {
	return []string{"average", "IN/rec.edf", "--condition", "go=go", "--condition", "stop=stop", "--epoch",
		"-100..300ms", "--reference", reference, "--save-epochs", "-o", "OUT"}
}

var trials = []trial{
	{"average", averageOf("recorded"), averageOf("average")},
	{"combine", []string{"combine", "IN/me_go_average.tsv", "IN/me_stop_average.tsv", "--difference", "go,stop",
		"-o",
		"OUT"},
		[]string{"combine", "IN/me_go_average.tsv", "IN/me_stop_average.tsv", "--difference", "go,stop",
			"--reference",
			"Cz", "-o", "OUT"}},
	{"values", []string{"values", "IN/me_go_average.tsv", "--at", "100ms", "-o", "OUT/values.tsv"},
		[]string{"values", "IN/me_go_average.tsv", "--at", "150ms", "-o", "OUT/values.tsv"}},
	{"components", []string{"components", "IN/me_go_average.tsv", "--window", "0..100ms", "-o",
		"OUT/components.tsv"},
		[]string{"components", "IN/me_go_average.tsv", "--window", "100..200ms", "-o", "OUT/components.tsv"}},
	{"asymmetry", []string{"asymmetry", "IN/me_go_average.tsv", "--at", "0..100ms", "-o", "OUT/asymmetry.tsv"},
		[]string{"asymmetry", "IN/me_go_average.tsv", "--at", "100..200ms", "-o", "OUT/asymmetry.tsv"}},
	{"map", []string{"map", "IN/me_go_average.tsv", "--at", "100ms", "-o", "OUT/map.svg"},
		[]string{"map", "IN/me_go_average.tsv", "--at", "150ms", "-o", "OUT/map.svg"}},
	{"frames", []string{"frames", "IN/me_go_average.tsv", "--during", "0..20ms", "--every", "10ms", "--side", "240",
		"-o", "OUT/frames"},
		[]string{"frames", "IN/me_go_average.tsv", "--during", "100..110ms", "--every", "10ms", "--side", "240",
			"-o",
			"OUT/frames"}},
	{"film", []string{"frames", "IN/me_go_average.tsv", "--during", "0..20ms", "--every", "10ms", "--side", "240",
		"-o",
		"OUT/film.gif"},
		[]string{"frames", "IN/me_go_average.tsv", "--during", "100..110ms", "--every", "10ms", "--side", "240",
			"-o",
			"OUT/film.gif"}},
	{"place", []string{"place", "--circumference", "560mm", "-o", "OUT/my_head.json"},
		[]string{"place", "--circumference", "550mm", "-o", "OUT/my_head.json"}},
}

// An injector makes requests fail, by their number.
type injector struct {
	at      int64 // from 1
	onwards bool  // and all after it, as a kill does
	count   atomic.Int64
	failed  disk.Call
	err     error // of the line
}

func (i *injector) String() string {
	return fmt.Sprintf("request %d, %s %s (kill %v; %v)", i.at, i.failed.Op, i.failed.Path, i.onwards, i.err)
}

func (i *injector) ask(c disk.Call) error {
	n := i.count.Add(1)
	if n == i.at {
		i.failed = c
	}
	if n == i.at || i.onwards && n > i.at {
		return &os.PathError{Op: string(c.Op), Path: c.Path, Err: syscall.EIO}
	}
	return nil
}

// during carries out a command line while requests fail.
func (i *injector) during(args []string) error {
	defer disk.Observe(i.ask)()
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0)) // --jobs sets it
	return run(context.Background(), args, strings.NewReader(""), io.Discard, io.Discard)
}

// scratch is a folder for files that need not last.
func scratch(t *testing.T) string {
	t.Helper()
	if info, err := os.Stat("/dev/shm"); err == nil && info.IsDir() {
		if dir, err := os.MkdirTemp("/dev/shm", "calotte-test-*"); err == nil {
			t.Cleanup(func() { os.RemoveAll(dir) })
			return dir
		}
	}
	return t.TempDir()
}

// everything are the files below a folder, by their paths in it; those of a
// study's records are left out, since they hold times.
func everything(t *testing.T, dir string) map[string]string {
	t.Helper()
	all := results(t, dir)
	maps.DeleteFunc(all, func(path, _ string) bool {
		return strings.HasPrefix(path,
			"status"+string(filepath.Separator))
	})
	return all
}

func isHidden(path string) bool { return strings.Contains(path, ".calotte-") }

// listedIn is the JSON that holds the hashes of a file, by the names of this
// program's outputs.
func listedIn(path string) string {
	if i := strings.LastIndexByte(path, '_'); i >= 0 {
		for _, suffix := range []string{"average.tsv", "sem.tsv", "pairs.tsv", "epochs.npy", "epochs.tsv"} {
			if path[i+1:] == suffix {
				return path[:i] + "_average.json"
			}
		}
	}
	if filepath.Base(filepath.Dir(path)) == "frames" {
		return filepath.Join(filepath.Dir(path), "frames.json")
	}
	return strings.TrimSuffix(path, filepath.Ext(path)) + ".json"
}

// readsAsWhole reports whether every file that is there is of the old outputs
// or of the new, and whether each JSON tells the truth of the files that it
// lists: where it does not, the set is refused when it is read.
func readsAsWhole(got, old, new map[string]string) error {
	for path, text := range got {
		if text != old[path] && text != new[path] {
			return fmt.Errorf("%s is neither the old nor the new one (%d bytes)", path, len(text))
		}
		description := listedIn(path)
		if description == path || got[description] == "" {
			continue
		}
		generation := old
		if got[description] == new[description] {
			generation = new
		}
		if text != generation[path] && strings.Contains(got[description], archive.Hash([]byte(text))) {
			return fmt.Errorf("%s is listed by %s, which is of another run", path, description)
		}
	}
	return nil
}

// hidden are the hidden names below a folder, of files and folders.
func hidden(t *testing.T, dir string) []string {
	t.Helper()
	var names []string
	err := filepath.WalkDir(dir, func(path string, _ os.DirEntry, err error) error {
		if isHidden(filepath.Base(path)) {
			names = append(names, path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}

// trialInputs is a folder with what the trials read.
func trialInputs(t *testing.T) string {
	t.Helper()
	in := scratch(t)
	sessionFile{events: true}.write(t, filepath.Join(in, "rec.edf"))
	writeFile(t, filepath.Join(in, "me_go_average.tsv"), averageTable(tableHeader, wave))
	writeFile(t, filepath.Join(in, "me_stop_average.tsv"),
		averageTable(tableHeader, func(s, k int) string { return wave(s+1, k) }))
	return in
}

// Where any one request fails, alone or with all after it, the outputs are the
// old ones, the new ones, or refused when they are read; nothing hidden is left
// but what could not be removed; and the same line, run again, makes the new
// ones.
func TestFaultsByCount(t *testing.T) {
	in := trialInputs(t)
	for _, tr := range trials {
		t.Run(tr.name, func(t *testing.T) {
			whole := func(line []string) map[string]string {
				out := filepath.Join(scratch(t), "out")
				must(t, tr.args(line, in, out)...)
				return everything(t, out)
			}
			old, out := whole(tr.old), filepath.Join(scratch(t), "out")
			r := replacement{args: tr.args(tr.new, in, out), out: out, old: old, new: whole(tr.new),
				rarely: 1,
				restore: func() {
					for path, text := range old {
						writeFile(t, filepath.Join(out, path), text)
					}
				}}
			r.withFaults(t)
		})
	}
}

// So does a whole study.
func TestFaultsByCountInAStudy(t *testing.T) {
	dir := scratch(t)
	for i := range 2 {
		id := fmt.Sprintf("sub-%02d", i+1)
		sessionFile{events: true, factor: 1 + .3*float64(i)}.write(t,
			filepath.Join(dir, "data", id, "eeg", id+"_task-flags_eeg.edf"))
	}
	path := writeFile(t, filepath.Join(dir, "recipe.yaml"), leanRecipe)
	out := filepath.Join(dir, "results")
	must(t, "cohort", "run", path)
	kept := filepath.Join(dir, "kept")
	if err := os.CopyFS(kept, os.DirFS(out)); err != nil {
		t.Fatal(err)
	}
	old := everything(t, out)
	writeFile(t, path, strings.Replace(leanRecipe, "  epoch:", "  reference: average\n  epoch:", 1))
	must(t, "cohort", "run", path)
	r := replacement{args: []string{"cohort", "run", path, "--quiet", "--jobs", "1"}, out: out, old: old,
		new: everything(t, out), rarely: 4}
	r.tells = func(path string) bool {
		return slices.Contains([]string{"index.html", "quality.tsv", "methods.txt"}, path)
	}
	r.restore = func() {
		if err := os.CopyFS(out, os.DirFS(kept)); err != nil {
			t.Fatal(err)
		}
	}
	r.withFaults(t)
}

// A replacement is a command line that puts new outputs in place of old ones.
type replacement struct {
	args     []string
	out      string
	old, new map[string]string
	restore  func() // puts the old outputs into the folder, which is not there
	// tells reports whether a file tells how the work stands, so that it
	// may be neither old nor new where something has failed.
	tells func(path string) bool
	// rarely is every how manieth kill is tried, and every how manieth run
	// done again, of a line that takes long.
	rarely int64
}

// withFaults has every request of the line fail in turn.
func (r *replacement) withFaults(t *testing.T) {
	t.Helper()
	step := int64(fewer)
	if os.Getenv(faultsEnvironment) == "all" {
		step = 1
	}
	for _, onwards := range []bool{false, true} {
		outcomes, faults := map[string]int{}, 0
		for n := int64(1); ; n += step {
			if onwards && n/step%r.rarely != 0 {
				continue
			}
			i := &injector{at: n, onwards: onwards}
			outcome := r.withFault(t, i)
			if outcome == "" {
				break
			}
			faults++
			outcomes[outcome]++
			if n/step%r.rarely == 0 {
				r.again(t, i)
			}
		}
		t.Logf("%d faults, kills %v: %v", faults, onwards, outcomes)
	}
}

// withFault carries out the line with one fault and says what it left; nothing
// where the line ended before.
func (r *replacement) withFault(t *testing.T, i *injector) (outcome string) {
	t.Helper()
	if err := os.RemoveAll(r.out); err != nil {
		t.Fatal(err)
	}
	r.restore()
	i.err = i.during(r.args)
	if i.count.Load() < i.at {
		return ""
	}
	got := everything(t, r.out)
	maps.DeleteFunc(got, func(path, _ string) bool { return isHidden(path) || r.tells != nil && r.tells(path) })
	if err := readsAsWhole(got, r.old, r.new); err != nil {
		t.Errorf("%v: %v", i, err)
	}
	if left := hidden(t, filepath.Dir(r.out)); !i.onwards && i.failed.Op != disk.Removing && len(left) > 0 {
		t.Errorf("%v: left behind: %v", i, left)
	}
	agrees := func(want map[string]string) bool {
		for path, text := range want {
			if got[path] != text && (r.tells == nil || !r.tells(path)) {
				return false
			}
		}
		return true
	}
	switch {
	case agrees(r.old):
		return "old"
	case agrees(r.new):
		return "new"
	}
	return "refused or in parts"
}

// again carries out the line once more, undisturbed.
func (r *replacement) again(t *testing.T, i *injector) {
	t.Helper()
	if err := (&injector{}).during(r.args); err != nil {
		t.Errorf("%v: run again: %v", i, err)
	}
	if got := everything(t, r.out); !maps.Equal(got, r.new) {
		t.Errorf("%v: run again, it makes other files than a run that was not disturbed: %v", i,
			differing(got, r.new))
	}
	if left := hidden(t, filepath.Dir(r.out)); len(left) > 0 {
		t.Errorf("%v: run again, left behind: %v", i, left)
	}
}

// differing names what two sets of files do not share.
func differing(a, b map[string]string) []string {
	var names []string
	for path := range a {
		if a[path] != b[path] {
			names = append(names, path)
		}
	}
	for path := range b {
		if _, ok := a[path]; !ok {
			names = append(names, "no "+path)
		}
	}
	slices.Sort(names)
	return names
}
