package main

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/console"
)

func TestContentsOfARecording(t *testing.T) {
	dir := t.TempDir()
	path := sessionFile{events: true, patient: "K7Q F 01-JAN-1970 N_N"}.write(t, filepath.Join(dir, "my rec.edf"))
	other := sessionFile{events: true, patient: "K8Q X X X"}.write(t, filepath.Join(dir, "b.edf"))
	out := must(t, "contents", path, other)
	for _, want := range []string{
		"people: these recordings are of 2 people",
		"next: calotte average " + console.ShellQuote(path) + " " + other +
			" --each --condition NAME=LABEL -o averages",
		"(NAME is yours to choose; events: go (20), stop (20))",
	} {
		if !strings.Contains(out, want) {
			t.Errorf("%s\ndoes not say %q", out, want)
		}
	}
	for _, text := range []string{out, must(t, "contents", "--format", "json", path, other)} {
		for _, private := range []string{"K7Q", "K8Q", "N_N", "JAN-1970"} {
			if strings.Contains(text, private) {
				t.Errorf("%q of the patient field is shown: %s", private, text)
			}
		}
		if strings.Contains(text, `"from"`) {
			t.Errorf("a recording has no beginning of its epoch: %s", text)
		}
	}
}

// A recording whose events all have labels of their own is told on some
// screens; JSON has them all.
func TestContentsOfManyLabels(t *testing.T) {
	dir := t.TempDir()
	rec := sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf"))
	var table strings.Builder
	table.WriteString("onset\tduration\ttrial_type\n")
	for i := range 300 {
		fmt.Fprintf(&table, "%g\t0\tstim%03d\n", float64(i)/100, i)
	}
	events := writeFile(t, filepath.Join(dir, "events.tsv"), table.String())
	out := must(t, "contents", rec, "--events", events)
	if n := strings.Count(out, "the first at"); n != 200 ||
		!strings.Contains(out, "and 100 labels more (--format json lists them all)\n") {
		t.Errorf("%d labels are listed: %s", n, out)
	}
	if out = must(t, "contents", rec, "--events", events, "--format",
		"json"); strings.Count(out, `"count":1`) != 300 {
		t.Errorf("JSON does not list all labels: %s", out)
	}
	// A check counts them as one, however many there are.
	if out = must(t, "contents", "--check", rec, "--events", events); !strings.Contains(out, "of 300 usable") {
		t.Errorf("%s\ndoes not count 300 epochs", out)
	}
}

func TestContentsOfAverages(t *testing.T) {
	dir := averaged(t, "sub-01", "sub-02")
	in := func(name string) string { return filepath.Join(dir, name+"_average.tsv") }
	own := writeFile(t, filepath.Join(dir, "own_x_average.tsv"), "time\tP7\tP8\n0\t1\t2\n0.01\t1\t2\n")
	more := writeFile(t, filepath.Join(dir, "more_x_average.tsv"), "time\tP7\tP8\n0\t1\t2\n0.01\t1\t3\n")
	must(t, "combine", in("sub-01_go"), in("sub-02_go"), "--weighted", "-o", dir)
	must(t, "combine", in("sub-01_go"), in("sub-02_go"), in("sub-01_stop"), in("sub-02_stop"), "--difference",
		"go,stop", "-o", dir)
	must(t, "combine", in("sub-01_go"), in("sub-01_stop"), "--difference", "go,stop", "-o", dir)
	must(t, "combine", own, more, "-o", dir)
	for name, wants := range map[string][]string{
		"sub-01_go": {"events      go\n", "reference   as recorded\n"},
		"group_go": {"note        people are weighted by their epochs\n",
			"member      sub-01, 9 epochs\n"},
		"group_go-stop":  {"member      sub-01, 9 and 10 epochs\n"},
		"sub-01_go-stop": {"member      sub-01, go, 9 epochs\n", "member      sub-01, stop, 10 epochs\n"},
		"group_x":        {"member      own\n", "reference   not known\n"},
	} {
		out := must(t, "contents", in(name))
		for _, want := range wants {
			if !strings.Contains(out, want) {
				t.Errorf("%s\ndoes not say %q", out, want)
			}
		}
	}
	// The epoch of this table begins at zero, and its JSON says so.
	if out := must(t, "contents", "--format", "json", own); !strings.Contains(out, `"from":0,"to":0.01`) {
		t.Error(out)
	}
}

// full is a disk without room.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left on device") }

func TestContentsThatCannotBePrinted(t *testing.T) {
	path := sessionFile{events: true}.write(t, filepath.Join(t.TempDir(), "rec.edf"))
	if code := console.Report(io.Discard,
		run(t.Context(), []string{"contents", path}, strings.NewReader(""), full{},
			io.Discard)); code != console.Failed {
		t.Errorf("exit %d", code)
	}
}
