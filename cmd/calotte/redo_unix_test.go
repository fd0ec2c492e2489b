//go:build unix

package main

import (
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"calotte/topo/provenance"
)

// A pipe that nobody writes into does not keep the program waiting.
func TestRedoOfPipes(t *testing.T) {
	for name, args := range map[string][]string{
		"rec.tsv":    {"--at=100ms", "rec.tsv"},
		"marks.json": {"--at=100ms", "--mark=marks.tsv", "own.tsv"},
		"x.yaml":     {"--spec=x.yaml"},
	} {
		t.Run(name, func(t *testing.T) {
			v := newVictim(t)
			writeFile(t, filepath.Join(v.download, "marks.tsv"), "site\nCz\n")
			if err := syscall.Mkfifo(filepath.Join(v.download, name), 0o666); err != nil {
				t.Skip("no pipes here")
			}
			_, stderr, code := v.redoes(t,
				hostileFile(t, filepath.Join(v.download, "figure.svg"),
					provenance.Record{Work: "map", Arguments: args}))
			if code != failed || !strings.Contains(stderr, "a device or a pipe") {
				t.Errorf("exit %d: %s", code, stderr)
			}
		})
	}
	v := newVictim(t)
	figure := filepath.Join(v.download, "figure.svg")
	if err := syscall.Mkfifo(figure, 0o666); err != nil {
		t.Skip("no pipes here")
	}
	if _, stderr, code := v.redoes(t, figure); code != failed || !strings.Contains(stderr, "a device or a pipe") {
		t.Errorf("exit %d: %s", code, stderr)
	}
}
