package console

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestReport(t *testing.T) {
	for _, c := range []struct {
		err  error
		code int
		want string
	}{
		{nil, OK, ""},
		{errors.New("broken\nin two lines"), Failed, "calotte: broken in two lines\n"},
		{Usagef("no such %s", "flag"), Misused, "calotte: no such flag\n"},
		{fmt.Errorf("map: %w", Usagef("x")), Misused, "calotte: map: x\n"},
		{fmt.Errorf("averaging: %w", context.Canceled), Interrupted, "calotte: interrupted; what is on disk is whole\n"},
		{&os.PathError{Op: "open", Path: "a.edf", Err: os.ErrNotExist}, Failed, "calotte: open a.edf: file does not exist: check the name and the folder\n"},
	} {
		var b bytes.Buffer
		if code := Report(&b, c.err); code != c.code || b.String() != c.want {
			t.Errorf("%v: exit %d, %q; want %d, %q", c.err, code, b.String(), c.code, c.want)
		}
	}
}

func TestTableKeepsCellsOnTheirLine(t *testing.T) {
	var b bytes.Buffer
	if err := Table(&b, []string{"name", "note"}, [][]string{{"Fz", "a\tb\nc"}}); err != nil {
		t.Fatal(err)
	}
	if b.String() != "name\tnote\nFz\ta b c\n" {
		t.Errorf("%q", b.String())
	}
}

// A set of files that cannot be completed leaves nothing new behind, and the
// older file that was replaced before stays whole.
func TestWriteRemovesWhatItCannotComplete(t *testing.T) {
	dir := t.TempDir()
	old, fresh, blocked := filepath.Join(dir, "old"), filepath.Join(dir, "sub", "fresh"), filepath.Join(dir, "blocked")
	if err := os.WriteFile(old, []byte("before"), 0o666); err != nil {
		t.Fatal(err)
	}
	f := Files{Force: true}
	if err := f.Plan(old, fresh, blocked); err != nil {
		t.Fatal(err)
	}
	if entries, err := os.ReadDir(dir); err != nil || len(entries) != 1 {
		t.Errorf("Plan left something behind: %v (%v)", entries, err)
	}
	f.Put(old, []byte("after"))
	f.Put(fresh, []byte("new"))
	f.Put(blocked, []byte("never"))
	if err := os.MkdirAll(filepath.Join(blocked, "full"), 0o777); err != nil {
		t.Fatal(err)
	}
	err := f.Write()
	if err == nil || !strings.Contains(err.Error(), "blocked") {
		t.Fatalf("got %v, want an error that names the file", err)
	}
	if _, err := os.Stat(fresh); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the new file was left behind (%v)", err)
	}
	if text, err := os.ReadFile(old); err != nil || string(text) != "after" {
		t.Errorf("the older file is %q (%v)", text, err)
	}
	if left, err := filepath.Glob(filepath.Join(dir, ".*")); err != nil || len(left) > 0 {
		t.Errorf("temporary files are left: %v (%v)", left, err)
	}
}

func TestPlanRefusesInputs(t *testing.T) {
	dir := t.TempDir()
	in := filepath.Join(dir, "in")
	if err := os.WriteFile(in, nil, 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(in, filepath.Join(dir, "link")); err != nil {
		t.Skip("no symbolic links here")
	}
	f := Files{Force: true, Inputs: []string{in}}
	for _, path := range []string{in, filepath.Join(dir, "link"), filepath.Join(dir, ".", "in")} {
		if err := f.Plan(path); err == nil || !strings.Contains(err.Error(), "is an input") {
			t.Errorf("%s: got %v", path, err)
		}
	}
}
