package main

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/console"
	"calotte/topo/provenance"
)

// Links out of the download, and what cannot be read to its end.
func TestRedoOfHostileFolders(t *testing.T) {
	link := func(to, name string) func(*testing.T, victim) {
		return func(t *testing.T, v victim) {
			if err := os.Symlink(filepath.Join(v.home, filepath.FromSlash(to)),
				filepath.Join(v.download, filepath.FromSlash(name))); err != nil {
				t.Skip("no symbolic links here")
			}
		}
	}
	out := "outside of the folders given"
	for _, attack := range []struct {
		name  string
		plant func(*testing.T, victim)
		args  []string
		want  string
	}{
		{"a link to a file", link("private/secret.tsv", "rec.tsv"), []string{"--at=100ms", "rec.tsv"}, out},
		{"a link beside a file", link("private/secret.tsv", "own.json"),
			[]string{"--at=100ms", "--mark=own.tsv", "own.tsv"}, out},
		{"a link to a folder", link("private", "recordings"), []string{"--at=100ms", "recordings"}, out},
		{"a link in a folder", func(t *testing.T, v victim) {
			writeFile(t, filepath.Join(v.download, "set", "sub-01", "x"), "")
			link("private", "set/sub-01/eeg")(t, v)
		}, []string{"--at=100ms", "set"}, out},
		{"a link that stays inside", func(t *testing.T, v victim) {
			writeFile(t, filepath.Join(v.download, "store", "x.tsv"), averageTable(tableHeader, wave))
			link("download/store/x.tsv", "rec.tsv")(t, v)
		}, []string{"--at=100ms", "rec.tsv"}, "came out otherwise"},
		{"a device", func(t *testing.T, v victim) {
			if err := os.Symlink(os.DevNull, filepath.Join(v.download, "rec.tsv")); err != nil {
				t.Skip("no symbolic links here")
			}
		}, []string{"--at=100ms", "rec.tsv"}, out},
	} {
		t.Run(attack.name, func(t *testing.T) {
			v := newVictim(t)
			attack.plant(t, v)
			_, stderr, code := v.redoes(t,
				hostileFile(t, filepath.Join(v.download, "figure.svg"),
					provenance.Record{Work: "map", Arguments: attack.args}))
			if code != failed || !strings.Contains(stderr, attack.want) {
				t.Errorf("exit %d: %s", code, stderr)
			}
		})
	}
	// Nor does the description of a table lead out.
	v := newVictim(t)
	writeFile(t, filepath.Join(v.download, "x.tsv"), "Cz\n1\n")
	hostileFile(t, filepath.Join(v.home, "private", "x.json"),
		provenance.Record{Work: "values", Arguments: []string{"--at=100ms", "own.tsv"}})
	link("private/x.json", "x.json")(t, v)
	if _, stderr, code := v.redoes(t, filepath.Join(v.download, "x.tsv")); code != failed ||
		!strings.Contains(stderr, out) {
		t.Errorf("exit %d: %s", code, stderr)
	}
	// What the user names is opened.
	v = newVictim(t)
	link("private/secret.tsv", "rec.tsv")(t, v)
	figure := hostileFile(t, filepath.Join(v.download, "figure.svg"),
		provenance.Record{Work: "map", Arguments: []string{"--at=100ms", "rec.tsv"}})
	if _, stderr, code := v.redoes(t, figure, "--in", filepath.Join(v.home, "private")); code != failed ||
		!strings.Contains(stderr, "came out otherwise") {
		t.Errorf("exit %d: %s", code, stderr)
	}
}

// The sidecars of a recording lie in folders above it, which are the user's
// own.
func TestRedoOpensNoSidecarsElsewhere(t *testing.T) {
	v := newVictim(t)
	set := filepath.Join(v.home, "set")
	eeg := filepath.Join(set, "sub-01", "eeg")
	name := "sub-01_task-x_eeg.edf"
	sessionFile{events: true}.write(t, filepath.Join(eeg, name))
	sidecar := writeFile(t, filepath.Join(set, "task-x_eeg.json"), `{"PowerLineFrequency": 50}`)
	must(t, "average", filepath.Join(eeg, name), "--condition", "go=go", "--epoch", "-100..300ms", "-o", v.download)
	table := filepath.Join(v.download, "sub-01_go_average.tsv")

	_, stderr, code := v.redoes(t, table, "--in", eeg)
	if code != failed || !strings.Contains(stderr,
		"task-x_eeg.json lies outside of the folders given: give its folder by --in as well") {
		t.Errorf("exit %d: %s", code, stderr)
	}
	stdout, stderr, code := v.redoes(t, table, "--in", eeg, "--in", set)
	if code != console.OK || !strings.Contains(stdout, "the same bytes") {
		t.Errorf("exit %d: %s%s", code, stdout, stderr)
	}
	if err := errors.Join(os.Remove(sidecar),
		os.Symlink(filepath.Join(v.home, "private", "secret.yaml"), sidecar)); err != nil {
		t.Skip("no symbolic links here")
	}
	_, stderr, code = v.redoes(t, table, "--in", eeg, "--in", set)
	if code != failed || !strings.Contains(stderr, "task-x_eeg.json is a link to") ||
		!strings.Contains(stderr, "outside of the folders given") {
		t.Errorf("exit %d: %s", code, stderr)
	}
}
