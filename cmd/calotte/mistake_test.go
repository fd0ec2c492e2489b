package main

import (
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/console"
)

const usage, failed = console.Misused, console.Failed

// A mistake is a command line that must fail.
type mistake struct {
	name string
	file func(t *testing.T, dir string) string // FILE among the arguments, DIR its folder
	args string                                // OUT begins paths that must not come into being
	code int
	want []string // what the error says
}

// check runs the command line: the error must be one line that says what it
// should, the exit code right, and nothing may be left behind.
func (m mistake) check(t *testing.T) {
	dir := t.TempDir()
	file := m.file(t, dir)
	before := listing(t, dir)
	out := filepath.Join(t.TempDir(), "out")
	args := strings.Fields(m.args)
	for i, arg := range args {
		args[i] = strings.NewReplacer("FILE", file, "DIR", dir, "OUT", out).Replace(arg)
	}
	_, stderr, code := calotte(args...)
	if code != m.code {
		t.Errorf("exit %d, want %d", code, m.code)
	}
	lines := strings.Split(strings.TrimSuffix(stderr, "\n"), "\n")
	last := lines[len(lines)-1]
	if !strings.HasPrefix(last, "calotte: ") {
		t.Errorf("no error line: %q", stderr)
	}
	for _, line := range lines[:len(lines)-1] {
		if !strings.HasPrefix(line, "note: ") && !strings.HasPrefix(line, "warning: ") {
			t.Errorf("more than one line: %q", stderr)
		}
	}
	if name := filepath.Base(file) + ": "; strings.Contains(last, name+name) {
		t.Errorf("the file is named twice: %q", last)
	}
	for _, w := range m.want {
		if !strings.Contains(last, w) {
			t.Errorf("%q does not say %q", last, w)
		}
	}
	if left := listing(t, filepath.Dir(out)); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	if after := listing(t, dir); len(after) != len(before) {
		t.Errorf("the inputs' folder changed: %v", after)
	}
}

// edf and table write the file of a mistake.
func edf(s sessionFile) func(*testing.T, string) string {
	return func(t *testing.T, dir string) string { return s.write(t, filepath.Join(dir, "rec.edf")) }
}

func table(name, text string) func(*testing.T, string) string {
	return func(t *testing.T, dir string) string { return writeFile(t, filepath.Join(dir, name), text) }
}
