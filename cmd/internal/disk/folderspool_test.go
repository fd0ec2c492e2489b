package disk

import (
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

func isPart(name string) bool { return strings.HasPrefix(name, "part") }

// exchange writes a folder of n parts in place of what is there.
func exchange(t *testing.T, path, text string, n int) error {
	t.Helper()
	f := &Files{Force: true}
	defer f.Abandon()
	s, err := f.SpoolFolder(path, isPart)
	if err != nil {
		return err
	}
	for k := range n {
		if err := s.Put(fmt.Sprint("part", k), []byte(text)); err != nil {
			return err
		}
	}
	return f.Write(t.Context())
}

// contents are the files of a folder, hidden ones too.
func contents(t *testing.T, dir string) map[string]string {
	t.Helper()
	all := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(path)
		in, _ := filepath.Rel(dir, path)
		all[in] = string(b)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func set(text string, n int) map[string]string {
	all := map[string]string{}
	for k := range n {
		all[fmt.Sprintf("set/part%d", k)] = text
	}
	return all
}

func TestFolderTakesItsPlaceWhole(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "set")
	for _, c := range []struct {
		text string
		n    int
	}{{"first", 3}, {"second", 2}, {"third", 5}} {
		if err := exchange(t, path, c.text, c.n); err != nil {
			t.Fatal(err)
		}
		if got := contents(t, dir); !maps.Equal(got, set(c.text, c.n)) {
			t.Errorf("after the %s set the folder holds %v", c.text, got)
		}
	}
	f := &Files{}
	if _, err := f.SpoolFolder(path, isPart); err == nil || !strings.Contains(err.Error(), "--force") {
		t.Errorf("without force: %v", err)
	}
}

// A folder that holds anything else is left alone, and so is one that is no
// folder, a link, or where the user is.
func TestFolderOfOthersIsRefused(t *testing.T) {
	for what, make := range map[string]func(path string) error{
		"a file of theirs": func(path string) error {
			return os.WriteFile(filepath.Join(path, "thesis.txt"), nil,
				0o666)
		},
		"a folder in it": func(path string) error { return os.Mkdir(filepath.Join(path, "part1"), 0o777) },
		"a link in it":   func(path string) error { return os.Symlink("..", filepath.Join(path, "part1")) },
		"a link": func(path string) error {
			return errors.Join(os.Rename(path, path+"2"), os.Symlink(path+"2", path))
		},
		"a file": func(path string) error {
			return errors.Join(os.Remove(path), os.WriteFile(path, []byte("theirs"), 0o666))
		},
	} {
		dir := t.TempDir()
		path := filepath.Join(dir, "set")
		if err := os.Mkdir(path, 0o777); err != nil {
			t.Fatal(err)
		}
		if err := make(path); err != nil {
			t.Fatal(err)
		}
		before := namesBelow(t, dir)
		if err := exchange(t, path, "ours", 2); err == nil || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: %v", what, err)
		}
		if after := namesBelow(t, dir); !slices.Equal(before, after) {
			t.Errorf("%s: %v became %v", what, before, after)
		}
	}
	t.Chdir(t.TempDir())
	if err := exchange(t, ".", "ours", 1); err == nil {
		t.Error("the folder that the user is in was replaced")
	}
}

// namesBelow are all names below a folder.
func namesBelow(t *testing.T, dir string) []string {
	t.Helper()
	var names []string
	err := filepath.WalkDir(dir, func(path string, _ os.DirEntry, err error) error {
		names = append(names, path)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}

// failing fails the n-th request, and with all those after it, as a kill does.
func failing(n int, all bool) (f func(Call) error, count *int) {
	count = new(int)
	return func(c Call) error {
		*count++
		if *count == n || all && *count > n {
			return fmt.Errorf("%s %s: planted", c.Op, c.Path)
		}
		return nil
	}, count
}

// Whatever request fails, alone or with all those after it, the folder holds
// the old set or the new one, and after the next run the next one and nothing
// else.
func TestFolderWithFaults(t *testing.T) {
	for _, killed := range []bool{false, true} {
		outcomes := map[string]int{}
		for n := 1; ; n++ {
			dir := t.TempDir()
			path := filepath.Join(dir, "set")
			if err := exchange(t, path, "old", 3); err != nil {
				t.Fatal(err)
			}
			f, count := failing(n, killed)
			restore := Observe(f)
			err := exchange(t, path, "new", 2)
			restore()
			if err == nil && *count < n {
				break
			}
			seen := maps.Collect(func(yield func(string, string) bool) {
				for name, text := range contents(t, dir) {
					if !strings.HasPrefix(name, leftover) && !yield(name, text) {
						return
					}
				}
			})
			switch {
			case maps.Equal(seen, set("old", 3)):
				outcomes["old"]++
			case maps.Equal(seen, set("new", 2)):
				outcomes["new"]++
			case len(seen) == 0 && killed:
				outcomes["between"]++
			default:
				t.Errorf("request %d failed (killed %v): %v", n, killed, seen)
			}
			// Another run in the same folder, which does not touch
			// the set, ends what was begun.
			other := &Files{Force: true}
			other.Put(filepath.Join(dir, "other"), nil)
			if err := other.Write(t.Context()); err != nil {
				t.Fatal(err)
			}
			seen = contents(t, dir)
			delete(seen, "other")
			if !maps.Equal(seen, set("old", 3)) && !maps.Equal(seen, set("new", 2)) {
				t.Errorf("request %d failed (killed %v), after the next run: %v", n, killed, seen)
			}
		}
		t.Logf("killed %v: %v", killed, outcomes)
		if outcomes["old"] == 0 || outcomes["new"] == 0 || killed && outcomes["between"] != 1 {
			t.Errorf("killed %v: %v", killed, outcomes)
		}
	}
}

// Of two runs into one folder the later one is refused, as it is for files.
func TestFolderThatCameMeanwhile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "set")
	f := &Files{}
	defer f.Abandon()
	s, err := f.SpoolFolder(path, isPart)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Put("part0", []byte("late")); err != nil {
		t.Fatal(err)
	}
	if err := exchange(t, path, "first", 2); err != nil {
		t.Fatal(err)
	}
	if err := f.Write(t.Context()); err == nil || !strings.Contains(err.Error(), "--force") {
		t.Errorf("%v", err)
	}
	if got := contents(t, filepath.Dir(path)); !maps.Equal(got, set("first", 2)) {
		t.Errorf("the folder holds %v", got)
	}
}

func TestFolderHoldsAnInput(t *testing.T) {
	path := filepath.Join(t.TempDir(), "set")
	if err := exchange(t, path, "first", 2); err != nil {
		t.Fatal(err)
	}
	f := &Files{Force: true, Inputs: []string{filepath.Join(path, "part1")}}
	if _, err := f.SpoolFolder(path, isPart); err == nil ||
		!strings.Contains(err.Error(), "part1 is an input and would be removed") {
		t.Errorf("%v", err)
	}
	if got := contents(t, filepath.Dir(path)); !maps.Equal(got, set("first", 2)) {
		t.Errorf("the folder holds %v", got)
	}
}

// What lies beside an exchange of which this program left no part stays.
func TestExchangeOfOthers(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{".calotte-old-00000001-table", ".calotte-old-00000002-set/sub"} {
		if err := os.MkdirAll(filepath.Join(dir, name), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name, "notes"), nil, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, ".calotte-old-00000002-set", "notes"), nil, 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, ".calotte-old-00000003-gone"), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(t.TempDir(), filepath.Join(dir, ".calotte-new-00000003-gone")); err != nil {
		t.Skip("no links here")
	}
	for _, name := range []string{"table", "set/part0"} {
		if err := errors.Join(os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o777),
			os.WriteFile(filepath.Join(dir, name), nil, 0o666)); err != nil {
			t.Fatal(err)
		}
	}
	before := namesBelow(t, dir)
	f := &Files{}
	f.Put(filepath.Join(dir, "file"), nil)
	if err := f.Write(t.Context()); err != nil {
		t.Fatal(err)
	}
	if after := slices.DeleteFunc(namesBelow(t, dir),
		func(name string) bool { return filepath.Base(name) == "file" }); !slices.Equal(before, after) {
		t.Errorf("%v became %v", before, after)
	}
}
