package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"
)

// acting is a text that a terminal obeys: colours, a title, a cleared screen, a
// line turned around, and a line break before what would look like the
// program's own words.
const acting = "\x1b[31m\x1b]0;t\a\u009b2J\u202e\r\nFAKE"

// checkShown finds what must not reach a terminal, and lines that go on for
// ever.
func checkShown(t *testing.T, shown, what string) {
	t.Helper()
	for line := range strings.SplitSeq(strings.TrimSuffix(shown, "\n"), "\n") {
		switch {
		case strings.ContainsFunc(line,
			func(r rune) bool {
				return unicode.IsControl(r) && r != '\t' ||
					unicode.Is(unicode.Bidi_Control, r)
			}):
			t.Errorf("%s: what a terminal obeys: %q", what, line)
		case strings.HasPrefix(strings.TrimSpace(line), "FAKE"):
			t.Errorf("%s: a line of a stranger's: %q", what, line)
		case len(line) > 2500:
			t.Errorf("%s: a line of %d bytes: %.100q…", what, len(line), line)
		}
	}
}

// Names of files, and texts in them, reach the terminal as text, on one line
// and not without end, whether all goes well or not.
func TestHostileTextsAreShownAsText(t *testing.T) {
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	rec := sessionFile{events: true, labels: append([]string{"TWELVELETTER"}, eightSites...),
		change: func(file []byte) []byte {
			file = bytes.ReplaceAll(file, []byte("TWELVELETTER"), []byte("\x1b[2J\u202eA\r\nBC"))
			return bytes.ReplaceAll(file, []byte("+0.5\x14stop"), []byte("+0.5\x14s\nFA"))
		}}.write(t, in("rec.edf"))
	renamed := in("sub" + acting + ".edf")
	if err := os.Link(rec, renamed); err != nil {
		t.Skip("this file system knows no such names")
	}
	long := strings.Repeat("long", 25_000)
	must(t, "average", rec, "--condition", "go=go", "--epoch", "-100..300ms", "--save-epochs", "-o", dir)
	average := in("rec_go_average.tsv")
	for name, text := range map[string]string{
		"long_events.tsv": "onset\tduration\ttrial_type\tnote\n1\t0\t" + long + "\t" + long +
			"\n2\t0\tgo\u202e\tx\n",
		"a_electrodes.tsv":              "name\tx\ty\tz\nFz\u202e" + long + "\t1\t2\t3\n",
		"b_electrodes.tsv":              "name\tx\ty\tz\nFz" + acting + "\t1\t2\t3\n",
		"c_electrodes.tsv":              "name\tx\ty\tz\nFz\t" + long + "\t2\t3\n",
		"windows.tsv":                   "name\twindow\n" + long + "\t1..2\n",
		"marks.tsv":                     "site\n" + long + "\u202e\n",
		"own.tsv":                       "time\tCz\t" + long + "\u202e\n0\t1\t2\n0.01\t1\tx\n",
		"spec.yaml":                     "figure: map\nat: " + long[:50_000] + "\n",
		"key.yaml":                      "figure: map\n" + long[:60] + ": 1\n",
		"text.yaml":                     "language: \"" + long[:50_000] + "\u202e\"\n",
		"exclude.tsv":                   "file\tonset\telectrode\nrec.edf\t99\t" + long + "\n",
		"head.json":                     `{"` + long + `": 1}`,
		"bids/participants.tsv":         "participant_id\nsub-" + long + "\u202e\n",
		"bids/dataset_description.json": `{"Name": "` + long + `\u001b[31m\u202e\nFAKE", "BIDSVersion": "1.8"}`,
	} {
		writeFile(t, in(name), text)
	}
	eeg := sessionFile{events: true}.write(t, in("bids/sub-01/eeg/sub-01_task-a_eeg.edf"))
	writeFile(t, in("bids/sub-01/eeg/sub-01_task-a_channels.tsv"),
		"name\ttype\tunits\n"+long+"\u202e\tEEG\t"+long+"\n")
	writeFile(t, in("bids/sub-01/eeg/sub-01_task-a_eeg.json"),
		`{"TaskName": "`+long+`", "SamplingFrequency": 7, "XChannelCount": 3}`)
	for _, args := range [][]string{
		{"contents", rec, renamed},
		{"contents", "--check", renamed},
		{"contents", rec, "--events", in("long_events.tsv")},
		{"contents", average},
		{"contents", in("bids")},
		{"contents", eeg},
		{"average", renamed, "--condition", "go=go", "--condition", "st=\"s\nFA\"", "--epoch", "-100..300ms",
			"-o",
			in("out")},
		{"average", renamed, "--condition", "go=" + acting[:5] + "x", "-o", in("out")},
		{"average", rec, "--events", in("long_events.tsv"), "--condition", "go=note:x", "-o", in("out")},
		{"average", rec, "--condition", "go=go", "--exclude", in("exclude.tsv"), "-o", in("out")},
		{"average", in("no" + acting + ".edf"), "--condition", "go=go", "-o", in("out")},
		{"map", average, "--at", "100ms", "--electrodes", in("a_electrodes.tsv"), "-o", in("m.svg")},
		{"map", average, "--at", "100ms", "--electrodes", in("c_electrodes.tsv"), "-o", in("m.svg")},
		{"map", average, "--at", "100ms", "--mark", in("marks.tsv"), "-o", in("m.svg")},
		{"map", average, "--windows", in("windows.tsv"), "-o", in("m.svg")},
		{"map", in("own.tsv"), "--at", "1ms", "-o", in("m.svg")},
		{"map", "--spec", in("spec.yaml"), "-o", in("m.svg")},
		{"map", "--spec", in("key.yaml"), "-o", in("m.svg")},
		{"map", average, "--head", in("head.json"), "--at", "1ms", "-o", in("m.svg")},
		{"guide", "--circumference", "560mm", "--text", in("text.yaml"), "-o", in("g.pdf")},
		{"capcheck", in("b_electrodes.tsv"), "--circumference", "560mm"},
		{"capcheck", in("a_electrodes.tsv"), "--circumference", "560mm"},
		{"values", average, "--at", acting},
		{acting},
		{"map", "--" + long},
	} {
		stdout, stderr, _ := calotte(args...)
		checkShown(t, stdout, fmt.Sprintf("%.80q, stdout", args))
		checkShown(t, stderr, fmt.Sprintf("%.80q, stderr", args))
	}
}
