package main

import (
	"path/filepath"
	"strings"
	"testing"
)

func TestMethods(t *testing.T) {
	dir := t.TempDir()
	rec := sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf"))
	must(t, "average", rec, "--condition", "go=go", "--epoch", "-100..300ms", "--reject", "150uV", "--reference",
		"average", "-o", dir)
	average := filepath.Join(dir, "rec_go_average.tsv")
	figure := filepath.Join(dir, "figures", "map.png")
	must(t, "map", average, "--at", "100ms", "-o", figure)
	for _, args := range [][]string{{average}, {figure, "--in", dir}} {
		text := must(t, append([]string{"methods"}, args...)...)
		for _, want := range []string{"[amplifier] from 8 scalp sites (Fz, C3,", "at 100 Hz",
			"Epochs from −100 to 300 ms", "average of 8 sites", "above 150 µV", "go 9", "(x) sampling rate",
			"( ) statistics"} {
			if !strings.Contains(text, want) {
				t.Errorf("%v: %q is not said:\n%s", args, want, text)
			}
		}
	}
	text, stderr, code := calotte("methods", figure)
	if code != 0 || !strings.Contains(text, "[How the averages were made is not known") ||
		!strings.Contains(stderr, "rec_go_average.tsv") {
		t.Errorf("exit %d without the average:\n%s%s", code, text, stderr)
	}
}

// The words on components and tests, and on windows that were declared.
func TestMethodsOfTests(t *testing.T) {
	dir := t.TempDir()
	known, novel := lateral(t, dir, 6)
	in := filepath.Join(dir, "people")
	windows := writeFile(t, filepath.Join(dir, "w.tsv"), "name\twindow\nlate\t100..200ms\n")
	files := []string{filepath.Join(dir, "a.tsv"), filepath.Join(dir, "c.tsv"), filepath.Join(dir, "m.tsv")}
	must(t, "asymmetry", known, "--in", in, "--windows", windows, "-o", files[0])
	must(t, "compare", known, novel, "--in", in, "--during", "100..200ms", "--seed", "7", "-o", files[1])
	must(t, "components", known, "--windows", windows, "--onset", "0.3", "-o", files[2])
	text := must(t, append([]string{"methods", "--in", filepath.Join(dir, "grand"), "--in", in}, files...)...)
	for _, want := range []string{
		"Right minus left was taken at mirrored sites at 100–200 ms (declared in w.tsv)", "sign flips",
		"permutation of clusters (Maris & Oostenveld 2007)", "seed 7",
		"has fallen to 0.3 of it", "(x) statistics", "(x) windows and sites",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not said:\n%s", want, text)
		}
	}
}
