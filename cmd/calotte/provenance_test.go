package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// What is recorded names no folder, and says what the random numbers came from.
func TestProvenanceOfAnAverage(t *testing.T) {
	dir, out := t.TempDir(), t.TempDir()
	rec := sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf"))
	events := writeFile(t, filepath.Join(dir, "events.csv"), "onset,trial_type\n1,go\n2,go\n3,stop\n4,go\n")
	exclude := writeFile(t, filepath.Join(dir, "decisions.csv"), "file,onset\nrec.edf,2\n")
	must(t, "average", rec, "--events", events, "--exclude", exclude, "--condition", "go=go", "--condition",
		"stop=stop",
		"--same-number", "--seed", "7", "--epoch", "-100..300ms", "-o", out)
	b, err := os.ReadFile(filepath.Join(out, "rec_go_average.json"))
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(string(b), dir) || strings.Contains(string(b), filepath.Base(dir)) {
		t.Errorf("the JSON names the inputs' folder:\n%s", b)
	}
	for _, want := range []string{`"seed": "7"`, `"name": "events.csv"`, `"name": "decisions.csv"`, `"kept": 1`,
		"left out to have equal numbers"} {
		if !strings.Contains(string(b), want) {
			t.Errorf("the JSON does not say %s:\n%s", want, b)
		}
	}
}
