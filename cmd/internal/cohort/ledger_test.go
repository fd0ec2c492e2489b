package cohort

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"calotte/cmd/internal/disk"
)

func write(t *testing.T, path, text string) string {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

func ledger(t *testing.T, dir string) *Ledger {
	t.Helper()
	l := &Ledger{Dir: dir, Maker: "test 1", Inputs: func() []string { return nil }, Private: Folders{}}
	if err := l.Load(); err != nil {
		t.Fatal(err)
	}
	return l
}

// A key depends on settings, names and contents, and on nothing else.
func TestKey(t *testing.T) {
	dir := t.TempDir()
	one, two := write(t, filepath.Join(dir, "one"), "1"), write(t, filepath.Join(dir, "two"), "2")
	l := ledger(t, filepath.Join(dir, "results"))
	of := func(change func(*Task, *Ledger)) string {
		t.Helper()
		task := Task{ID: "a", Args: []string{"a", one}, Settings: []string{"s"}, Inputs: []string{one, two},
			Outputs: []string{"o"}}
		other := ledger(t, l.Dir)
		change(&task, other)
		key, _, err := other.key(task)
		if err != nil {
			t.Fatal(err)
		}
		return key
	}
	first := of(func(*Task, *Ledger) {})
	for name, change := range map[string]func(*Task, *Ledger){
		"the order of inputs": func(t *Task, _ *Ledger) { slices.Reverse(t.Inputs) },
		"where an input lies": func(k *Task, _ *Ledger) {
			k.Inputs[0] = write(t, filepath.Join(dir, "elsewhere", "one"),
				"1")
		},
		"the command line": func(t *Task, _ *Ledger) { t.Args = nil },
		"the person":       func(t *Task, _ *Ledger) { t.Person = "sub-01" },
	} {
		if of(change) != first {
			t.Errorf("the key depends on %s", name)
		}
	}
	for name, change := range map[string]func(*Task, *Ledger){
		"a setting": func(t *Task, _ *Ledger) { t.Settings = []string{"r"} },
		"a content": func(k *Task, _ *Ledger) {
			k.Inputs[0] = write(t, filepath.Join(dir, "changed", "one"),
				"3")
		},
		"a name":    func(k *Task, _ *Ledger) { k.Inputs[0] = write(t, filepath.Join(dir, "three"), "1") },
		"the maker": func(_ *Task, l *Ledger) { l.Maker = "test 2" },
		"an output": func(t *Task, _ *Ledger) { t.Outputs = []string{"p"} },
		"one input": func(t *Task, _ *Ledger) { t.Inputs = t.Inputs[:1] },
	} {
		if of(change) == first {
			t.Errorf("the key does not depend on %s", name)
		}
	}
	if _, _, err := l.key(Task{Inputs: []string{filepath.Join(dir, "nowhere")}}); err == nil ||
		!strings.Contains(err.Error(), "needs nowhere") {
		t.Errorf("without an input: %v", err)
	}
}

// A file is hashed anew when its stamp has changed, and while it is fresh.
func TestHash(t *testing.T) {
	dir := t.TempDir()
	path := write(t, filepath.Join(dir, "file"), "old")
	l := ledger(t, dir)
	sum := func() string {
		t.Helper()
		s, err := l.hash(path)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	long := time.Now().Add(-time.Hour)
	set := func(at time.Time) {
		t.Helper()
		if err := os.Chtimes(path, at, at); err != nil {
			t.Fatal(err)
		}
	}
	set(long)
	first := sum()
	write(t, path, "new") // within a tick
	set(long)
	if sum() == first {
		t.Error("a fresh file was taken for unchanged")
	}
	settle := func() {
		for !disk.StampOf(stat(t, path)).Settled(time.Now()) {
			time.Sleep(50 * time.Millisecond)
		}
	}
	for _, c := range []struct {
		what   string
		change func()
	}{
		{"content and time", func() { write(t, path, "abc"); set(long.Add(time.Second)) }},
		{"content and size", func() { write(t, path, "abcd"); set(long.Add(time.Second)) }},
		{"content alone", func() { write(t, path, "ABCD"); set(long.Add(time.Second)) }},
		{"place with another file", func() {
			other := path + "2"
			write(t, other, "dcba")
			if err := os.Rename(other, path); err != nil {
				t.Fatal(err)
			}
			set(long.Add(time.Second))
		}},
	} {
		settle()
		before := sum()
		if len(l.hashes) != 1 {
			t.Error("what has lain for a while is not kept")
		}
		if c.change(); sum() == before {
			if disk.StampOf(stat(t, path)).Changed != 0 {
				t.Errorf("a file of another %s was taken for unchanged", c.what)
			}
		}
	}
	// What is kept is believed, until all is to be read.
	settle()
	want := sum()
	for name, h := range l.hashes {
		h.SHA256 = strings.Repeat("0", 64)
		l.hashes[name] = h
	}
	if sum() == want {
		t.Error("a file that is known was read")
	}
	if l.reread = true; sum() != want {
		t.Error("a file that is to be read was not")
	}
}

func stat(t *testing.T, path string) fs.FileInfo {
	t.Helper()
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	return info
}

// runner does tasks by writing their ID into their first output.
func runner(l *Ledger, fail string) (*Runner, *[]string) {
	var mutex sync.Mutex
	var did []string
	return &Runner{Ledger: l, Width: 2, Do: func(ctx context.Context, args []string) ([]byte, string, error) {
		mutex.Lock()
		defer mutex.Unlock()
		did = append(did, args[0])
		if args[0] == fail {
			return nil, "", errors.New("it cannot be done")
		}
		return []byte(args[0]), "a note", os.WriteFile(filepath.Join(l.Dir, args[0]), []byte(args[0]), 0o666)
	}}, &did
}

func task(id string) Task {
	return Task{ID: id, Args: []string{id}, Settings: []string{id}, Outputs: []string{id, id + ".said"},
		Printed: id + ".said"}
}

// A failure ends its chain and no other; what is done is not done again; what
// is no longer asked for goes, unless someone changed it.
func TestChains(t *testing.T) {
	l := ledger(t, t.TempDir())
	r, did := runner(l, "b")
	var ended []string
	r.Ended = func(k Task, _ Record, fresh bool) { ended = append(ended, k.ID) }
	chains := [][]Task{{task("a"), task("b"), task("c")}, {task("d"), task("e")}}
	if err := r.Chains(t.Context(), chains); err != nil {
		t.Fatal(err)
	}
	slices.Sort(*did)
	slices.Sort(ended)
	if want := []string{"a", "b", "d", "e"}; !slices.Equal(*did, want) || !slices.Equal(ended, want) {
		t.Errorf("did %v, told %v", *did, ended)
	}
	if rec, ok := l.Read("b"); !ok || rec.State != Failed || rec.Error != "it cannot be done" {
		t.Errorf("the record of the failure is %+v", rec)
	}
	if rec, ok := l.Read("a"); !ok || rec.State != Done || rec.Said != "a note" || len(rec.Files) != 2 {
		t.Errorf("the record of what was done is %+v", rec)
	}
	again, did := runner(l, "")
	if err := again.Chains(t.Context(), chains); err != nil {
		t.Fatal(err)
	}
	if slices.Sort(*did); !slices.Equal(*did, []string{"b", "c"}) {
		t.Errorf("again it did %v", *did)
	}
	write(t, filepath.Join(l.Dir, "e"), "mine")
	removed, err := l.Prune([]Task{task("a"), task("b")})
	if slices.Sort(removed); err != nil ||
		!slices.Equal(removed, []string{"c", "c.said", "d", "d.said", "e.said"}) {
		t.Errorf("pruning removed %v (%v)", removed, err)
	}
	for name, want := range map[string]bool{"a": true, "b": true, "c": false, "d": false, "e": true,
		"e.said": false} {
		if there := exists(filepath.Join(l.Dir, name)); there != want {
			t.Errorf("after pruning %s is there: %v", name, there)
		}
	}
	if _, ok := l.Read("d"); ok {
		t.Error("the record of what is not asked for stays")
	}
	stopped, cancel := context.WithCancel(t.Context())
	cancel()
	if err := again.Chains(stopped, [][]Task{{task("f")}}); !errors.Is(err, context.Canceled) {
		t.Errorf("after an interrupt: %v", err)
	}
}

// Where what a task made before cannot be removed, it stays whole, and no other
// task takes it for the result.
func TestFailsToClear(t *testing.T) {
	l := ledger(t, t.TempDir())
	r, did := runner(l, "")
	maker := Task{ID: "m", Args: []string{"m.tsv"}, Settings: []string{"old"}, Outputs: []string{"m.tsv", "m.json"},
		Printed: "m.json"}
	reader := Task{ID: "r", Args: []string{"r"}, Inputs: []string{filepath.Join(l.Dir, "m.tsv")},
		Outputs: []string{"r"}}
	stages := func() {
		t.Helper()
		for _, task := range []Task{maker, reader} {
			if err := r.Chains(t.Context(), [][]Task{{task}}); err != nil {
				t.Fatal(err)
			}
		}
	}
	stages()
	maker.Settings = []string{"new"}
	restore := disk.Observe(func(c disk.Call) error {
		if c.Op == disk.Removing && filepath.Base(c.Path) == "m.tsv" {
			return &fs.PathError{Op: "remove", Path: c.Path, Err: fs.ErrPermission}
		}
		return nil
	})
	stages()
	restore()
	if !exists(filepath.Join(l.Dir, "m.tsv")) || !exists(filepath.Join(l.Dir, "m.json")) {
		t.Error("what could not be removed is in parts")
	}
	if rec, ok := l.Read("m"); !ok || rec.State != Failed || len(rec.Files) != 2 {
		t.Errorf("the task that failed: %+v", rec)
	}
	if rec, ok := l.Read("r"); !ok || rec.State != Failed ||
		!strings.Contains(rec.Error, "m.tsv, which was not made") {
		t.Errorf("the task that reads it: %+v", rec)
	}
	stages()
	if want := []string{"m.tsv", "r", "m.tsv", "r"}; !slices.Equal(*did, want) {
		t.Errorf("did %v, want %v", *did, want)
	}
}
