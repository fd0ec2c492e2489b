package disk

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/console"
)

// A set of files that cannot be completed leaves nothing new behind, and the
// older file that was replaced before stays whole.
func TestWriteRemovesWhatItCannotComplete(t *testing.T) {
	dir := t.TempDir()
	old, fresh, blocked := filepath.Join(dir, "old"), filepath.Join(dir, "sub", "fresh"), filepath.Join(dir,
		"blocked")
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
	err := f.Write(t.Context())
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

// Where a file cannot be written none takes its place: not those before it
// either.
func TestWriteLeavesTheOldFilesWhereOneFails(t *testing.T) {
	dir := t.TempDir()
	old, file := filepath.Join(dir, "old"), filepath.Join(dir, "file")
	for _, path := range []string{old, file} {
		if err := os.WriteFile(path, []byte("before"), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	f := Files{Force: true}
	f.Put(old, []byte("after"))
	f.Put(filepath.Join(dir, "a", "b", "first"), nil)
	f.Drop(file)
	spool, err := f.Spool(filepath.Join(dir, "c", "spooled"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := spool.Write([]byte("long")); err != nil {
		t.Fatal(err)
	}
	if _, err := spool.Close(); err != nil {
		t.Fatal(err)
	}
	f.Put(filepath.Join(file, "second"), nil) // its folder is a file
	err = f.Write(t.Context())
	if err == nil || !strings.Contains(err.Error(), file+": ") {
		t.Errorf("got %v, want an error that names the file", err)
	}
	for _, path := range []string{old, file} {
		if text, err := os.ReadFile(path); err != nil || string(text) != "before" {
			t.Errorf("%s is %q (%v)", path, text, err)
		}
	}
	if entries, err := os.ReadDir(dir); err != nil || len(entries) != 2 {
		t.Errorf("left behind: %v (%v)", entries, err)
	}
}

// A spooled file takes its place with the others, with its hash, and one that
// is discarded leaves nothing.
func TestSpool(t *testing.T) {
	dir := t.TempDir()
	var f Files
	path := filepath.Join(dir, "sub", "deep", "long")
	spool, err := f.Spool(path)
	if err != nil {
		t.Fatal(err)
	}
	for range 3 {
		if _, err := spool.Write([]byte("abc")); err != nil {
			t.Fatal(err)
		}
	}
	sum, err := spool.Close()
	// printf abcabcabc | sha256sum
	if want := "76b99ab4be8521d78b19bcff7d1078aabeb477bd134f404094c92cd39f051c3e"; err != nil || sum != want {
		t.Errorf("hash %s, %v, want %s", sum, err, want)
	}
	f.Put(filepath.Join(dir, "sub", "short"), []byte("x"))
	if err := f.Write(t.Context()); err != nil {
		t.Fatal(err)
	}
	if text, err := os.ReadFile(path); err != nil || string(text) != "abcabcabc" {
		t.Errorf("%q (%v)", text, err)
	}
	plain, err := os.Stat(filepath.Join(dir, "sub", "short"))
	if err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(path); err != nil || info.Mode() != plain.Mode() {
		t.Errorf("mode %v, %v beside it", info.Mode(), plain.Mode())
	}
	other, err := f.Spool(filepath.Join(dir, "other"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := other.Write([]byte("half")); err != nil {
		t.Fatal(err)
	}
	f.Abandon()
	if entries, err := os.ReadDir(dir); err != nil || len(entries) != 1 {
		t.Errorf("left behind: %v (%v)", entries, err)
	}
}

// A link that leads nowhere is something that exists.
func TestPlanSeesDanglingLinks(t *testing.T) {
	link := filepath.Join(t.TempDir(), "link")
	if err := os.Symlink("nowhere", link); err != nil {
		t.Skip("no symbolic links here")
	}
	if err := (&Files{}).Plan(link); err == nil || !strings.Contains(err.Error(), "exists") {
		t.Errorf("got %v", err)
	}
	if err := (&Files{Force: true}).Plan(link); err != nil {
		t.Error(err)
	}
}

func TestReadFileRefuses(t *testing.T) {
	dir := t.TempDir()
	for path, want := range map[string]string{
		dir:                             "is a folder: give the files in it",
		os.DevNull:                      "is a device or a pipe, no file",
		filepath.Join(dir, "not there"): "not there",
	} {
		if _, err := ReadFile(path); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: got %v, want %q", path, err, want)
		}
	}
	large := filepath.Join(dir, "large")
	if err := os.WriteFile(large, nil, 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(large, LargestTable+1); err != nil {
		t.Skip("no file of that size here")
	}
	if _, err := ReadFile(large); err == nil || !strings.Contains(err.Error(), "holds 1.1 GB") {
		t.Errorf("got %v", err)
	}
}

func TestDistinct(t *testing.T) {
	dir := t.TempDir()
	a, b, c := filepath.Join(dir, "a"), filepath.Join(dir, "b"), filepath.Join(dir, "c")
	for _, path := range []string{a, b} {
		if err := os.WriteFile(path, nil, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Link(a, c); err != nil {
		t.Skip("no hard links here")
	}
	if err := Distinct([]string{a, b, "nowhere", "nowhere"}); err != nil {
		t.Error(err)
	}
	for _, paths := range [][]string{{a, b, a}, {a, b, c}, {b, a, filepath.Join(dir, ".", "a")}} {
		var usage *console.UsageError
		if err := Distinct(paths); !errors.As(err, &usage) {
			t.Errorf("%v: got %v", paths, err)
		}
	}
}
