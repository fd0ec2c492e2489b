//go:build unix

package disk

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"
)

func put(ctx context.Context, f *Files, path string) error {
	f.Force = true
	f.Put(path, []byte("x"))
	return f.Write(ctx)
}

// A run that waits for another says for whom, and the end of its context ends
// the wait and leaves nothing.
func TestLockIsWaitedFor(t *testing.T) {
	dir := t.TempDir()
	folder, err := OpenFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer folder.Close()
	unlock, err := folder.lock(t.Context(), "calotte average", nil)
	if err != nil {
		t.Fatal(err)
	}
	told := make(chan string, 10)
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() {
		ended <- put(ctx, &Files{Who: "calotte map", Waits: func(text string) { told <- text }},
			filepath.Join(dir, "file"))
	}()
	want := fmt.Sprintf("waiting for calotte average, process %d, which writes into %s; Ctrl-C ends the wait",
		os.Getpid(), dir)
	if text := <-told; text != want {
		t.Errorf("%q, want %q", text, want)
	}
	stop()
	select {
	case err := <-ended:
		if !errors.Is(err, context.Canceled) {
			t.Errorf("%v", err)
		}
	case <-time.After(time.Second):
		t.Fatal("it goes on waiting")
	}
	if entries, err := os.ReadDir(dir); err != nil || len(entries) != 1 || entries[0].Name() != lockName {
		t.Errorf("%v, %v: want the lock alone", entries, err)
	}
	unlock()
	if err := put(t.Context(), &Files{}, filepath.Join(dir, "file")); err != nil {
		t.Error(err)
	}
	if entries, err := os.ReadDir(dir); err != nil || len(entries) != 1 || entries[0].Name() != "file" {
		t.Errorf("%v, %v: want the file alone", entries, err)
	}
}

// Of many runs at once each has the folder to itself.
func TestLockExcludes(t *testing.T) {
	folder, err := OpenFolder(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer folder.Close()
	const runs, times = 8, 50
	inside, ended := 0, make(chan error)
	for range runs {
		go func() {
			for range times {
				unlock, err := folder.lock(t.Context(), "calotte", nil)
				if err != nil {
					ended <- err
					return
				}
				inside++ // the race detector, too, would see a second one
				unlock()
			}
			ended <- nil
		}()
	}
	for range runs {
		if err := <-ended; err != nil {
			t.Error(err)
		}
	}
	if inside != runs*times {
		t.Errorf("%d of %d", inside, runs*times)
	}
}

// What a killed run left is swept by the next; what another is still writing,
// and what only looks alike, stays.
func TestSweep(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{".calotte-0123abcd", ".calotte-notes", ".calotte-0123abcd.txt"} {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{".calotte-new-0123abcd-set", ".calotte-new-mine"} {
		if err := os.MkdirAll(filepath.Join(dir, name), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name, "part1"), nil, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	theirs := t.TempDir()
	if err := os.WriteFile(filepath.Join(theirs, "part1"), nil, 0o666); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{".calotte-new-0000abcd-set", ".calotte-old-0000abcd-set", ".calotte-0000abcd"} {
		if err := os.Symlink(theirs, filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
	}
	living := &Files{Force: true}
	spool, err := living.Spool(filepath.Join(dir, "long"))
	if err != nil {
		t.Fatal(err)
	}
	frames, err := living.SpoolFolder(filepath.Join(dir, "set"), isPart)
	if err != nil {
		t.Fatal(err)
	}
	if err := frames.Put("part1", nil); err != nil {
		t.Fatal(err)
	}
	if err := put(t.Context(), &Files{}, filepath.Join(dir, "file")); err != nil {
		t.Fatal(err)
	}
	var left []string
	for _, path := range namesBelow(t, dir) {
		if name := filepath.Base(path); strings.Contains(name, "0123abcd") {
			left = append(left, name)
		}
	}
	if len(left) != 1 || left[0] != ".calotte-0123abcd.txt" {
		t.Errorf("left: %v", left)
	}
	if _, err := os.Stat(filepath.Join(theirs, "part1")); err != nil {
		t.Error("what a link leads to was removed")
	}
	if _, err := os.Stat(filepath.Join(dir, ".calotte-new-mine", "part1")); err != nil {
		t.Error("a folder that only looks alike was removed")
	}
	if _, err := spool.Close(); err != nil {
		t.Fatal(err)
	}
	if err := living.Write(t.Context()); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"long", "set/part1", "file", ".calotte-notes"} {
		if _, err := os.Stat(filepath.Join(dir, name)); err != nil {
			t.Error(err)
		}
	}
}

// What is no regular file is refused without waiting for who writes into it.
func TestPipesAreRefused(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mkfifo(filepath.Join(dir, "pipe"), 0o666); err != nil {
		t.Skip("no pipes here")
	}
	folder, err := OpenFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer folder.Close()
	for what, open := range map[string]func() error{
		"Open":        func() error { _, _, err := Open(filepath.Join(dir, "pipe")); return err },
		"FS":          func() error { _, err := FS(dir).Open("pipe"); return err },
		"Folder.Open": func() error { _, _, err := folder.Open("pipe"); return err },
	} {
		ended := make(chan error, 1)
		go func() { ended <- open() }()
		select {
		case err := <-ended:
			if err == nil || !strings.Contains(err.Error(), "is a device or a pipe") {
				t.Errorf("%s: %v", what, err)
			}
		case <-time.After(5 * time.Second):
			t.Fatalf("%s waits for the pipe", what)
		}
	}
}

// An archive of others may hold what has the name of the lock: it is refused,
// and what it leads to stays as it is.
func TestLockOfOthersIsRefused(t *testing.T) {
	plant := map[string]func(dir string) error{
		"a link": func(dir string) error {
			return os.Symlink("precious",
				filepath.Join(dir, lockName))
		},
		"a link to nowhere": func(dir string) error {
			return os.Symlink("nowhere",
				filepath.Join(dir, lockName))
		},
		"another name": func(dir string) error {
			return os.Link(filepath.Join(dir, "precious"),
				filepath.Join(dir, lockName))
		},
		"a folder": func(dir string) error { return os.Mkdir(filepath.Join(dir, lockName), 0o777) },
		"a pipe":   func(dir string) error { return syscall.Mkfifo(filepath.Join(dir, lockName), 0o666) },
		"a file": func(dir string) error {
			return os.WriteFile(filepath.Join(dir, lockName), []byte("notes"),
				0o666)
		},
	}
	for what, plant := range plant {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, "precious"), []byte("years of work"), 0o666); err != nil {
			t.Fatal(err)
		}
		if err := plant(dir); err != nil {
			t.Fatal(err)
		}
		before := namesBelow(t, dir)
		err := put(t.Context(), &Files{Who: "calotte"}, filepath.Join(dir, "file"))
		if err == nil || !strings.Contains(err.Error(),
			filepath.Join(dir, lockName)+" is no lock of this program") {
			t.Errorf("%s: %v", what, err)
		}
		if after := namesBelow(t, dir); !slices.Equal(before, after) {
			t.Errorf("%s: %v became %v", what, before, after)
		}
		if text, err := os.ReadFile(filepath.Join(dir, "precious")); err != nil ||
			string(text) != "years of work" {
			t.Errorf("%s: %q, %v", what, text, err)
		}
	}
}

// What a killed run left of its lock is in nobody's way.
func TestLockOfAKilledRun(t *testing.T) {
	for _, text := range []string{"", lockMark + "calotte map, process 7"} {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, lockName), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		if err := put(t.Context(), &Files{}, filepath.Join(dir, "file")); err != nil {
			t.Error(err)
		}
		if names := namesBelow(t, dir); len(names) != 2 {
			t.Errorf("after %q: %v, want the file alone", text, names)
		}
	}
}

// Who sweeps takes nothing that another run has just begun.
func TestSweepsAmidRuns(t *testing.T) {
	dir := t.TempDir()
	const runs, times = 8, 40
	ended := make(chan error)
	for run := range runs {
		go func() {
			for k := range times {
				f := &Files{Force: true}
				for part := range 4 {
					f.Put(filepath.Join(dir, fmt.Sprint(run, "-", k%3, "-", part)), []byte("x"))
				}
				if err := f.Write(context.Background()); err != nil {
					ended <- err
					return
				}
			}
			ended <- nil
		}()
	}
	for range runs {
		if err := <-ended; err != nil {
			t.Error(err)
		}
	}
	for _, name := range namesBelow(t, dir) {
		if strings.HasPrefix(filepath.Base(name), leftover) {
			t.Errorf("%s is left", name)
		}
	}
}
