package cohort

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// What a killed run left is cleared away where runs write, and folders of
// somebody in the results, however deep, are no matter of theirs.
func TestOpenSweeps(t *testing.T) {
	dir := t.TempDir()
	l := ledger(t, dir)
	open := func() {
		t.Helper()
		closed, err := l.Open(t.Context(), true)
		if err != nil {
			t.Fatal(err)
		}
		closed()
	}
	open()
	left := []string{".calotte-00000000", "figures/.calotte-00000000", "figures/film/.calotte-00000000"}
	for _, name := range left {
		write(t, filepath.Join(dir, filepath.FromSlash(name)), "half")
	}
	theirs := write(t, filepath.Join(dir, "notes", strings.Repeat("deep/", 300), ".calotte-00000000"), "mine")
	open()
	for _, name := range left {
		if _, err := os.Lstat(filepath.Join(dir, name)); err == nil {
			t.Errorf("%s is still there", name)
		}
	}
	if !exists(theirs) {
		t.Error("somebody's file is gone")
	}
}
