package main

import (
	"path/filepath"
	"strings"
	"testing"
)

func TestMethods(t *testing.T) {
	dir := t.TempDir()
	rec := session{events: true}.write(t, filepath.Join(dir, "rec.edf"))
	must(t, "average", rec, "--condition", "go=go", "--epoch", "-100..300ms", "--reject", "150uV", "--reference", "average", "-o", dir)
	average := filepath.Join(dir, "rec_go_average.tsv")
	figure := filepath.Join(dir, "figures", "map.png")
	must(t, "map", average, "--at", "100ms", "-o", figure)
	for _, args := range [][]string{{average}, {figure, "--in", dir}} {
		text := must(t, append([]string{"methods"}, args...)...)
		for _, want := range []string{"[amplifier] from 8 scalp sites (Fz, C3,", "at 100 Hz", "Epochs from −100 to 300 ms", "average of 8 sites", "above 150 µV", "go 9", "(x) sampling rate", "( ) statistics"} {
			if !strings.Contains(text, want) {
				t.Errorf("%v: %q is not said:\n%s", args, want, text)
			}
		}
	}
	text, stderr, code := calotte("methods", figure)
	if code != 0 || !strings.Contains(text, "[How the averages were made is not known") || !strings.Contains(stderr, "rec_go_average.tsv") {
		t.Errorf("exit %d without the average:\n%s%s", code, text, stderr)
	}
}
