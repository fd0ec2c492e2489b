package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/console"
)

// recordingsOf writes a recording a patient field, under the given names.
func recordingsOf(t *testing.T, patients map[string]string) (dir string) {
	t.Helper()
	dir = t.TempDir()
	for name, patient := range patients {
		sessionFile{events: true, patient: patient}.write(t, filepath.Join(dir, name))
	}
	return dir
}

func TestWhoseRecordings(t *testing.T) {
	const unsaid = "note: the files do not say whether they are of one person: pooled as one; --each " +
		"averages them apart"
	for _, c := range []struct {
		what     string
		patients map[string]string // by file name
		each     bool
		code     int
		stderr   string
		averages string // the names of the averages, when all is well
	}{
		{"one by its label", map[string]string{"sub-01_run-1_eeg.edf": "X X X X",
			"sub-01_run-2_eeg.edf": "X F X X"},
			false, console.OK, "", "sub-01"},
		{"one by its code", map[string]string{"a.edf": "P7 X X X", "b.edf": "P7 F X X"}, false, console.OK, "",
			"a"},
		{"one by a label and a code", map[string]string{"a.edf": "P7 X X X", "sub-01_eeg.edf": "P7 F X X"},
			false,
			console.OK, "", "sub-01"},
		{"nobody knows", map[string]string{"S001R03.edf": "X X X X", "S001R04.edf": "X F X X"}, false,
			console.OK,
			unsaid, "S001R03"},
		{"nobody knows, apart", map[string]string{"S001R03.edf": "X X X X", "S001R04.edf": "X F X X"}, true,
			console.OK,
			"warning: S001R03, a: few epochs: 9, fewer than 15\nwarning: S001R04, a: few epochs: 9, fewer " +
				"than 15\n", "S001R03 S001R04"},
		{"two by their codes", map[string]string{"a.edf": "P7 X X X", "b.edf": "P8 X X X"}, false,
			console.Misused,
			"are of different people", ""},
		{"one that says nothing", map[string]string{"a.edf": "P7 X X X", "b.edf": "X X X X"}, false,
			console.Misused,
			"nothing says that", ""},
		{"two codes for a label",
			map[string]string{"sub-01_run-1_eeg.edf": "P7 X X X", "sub-01_run-2_eeg.edf": "P8 X X X"},
			false,
			console.Failed,
			"of one person by the sub- labels of their names and of two by the codes in their " +
				"patient fields",
			""},
		{"the same with --each",
			map[string]string{"sub-01_run-1_eeg.edf": "P7 X X X", "sub-01_run-2_eeg.edf": "P8 X X X"}, true,
			console.Failed, "of one person by the sub- labels", ""},
		{"two labels for a code", map[string]string{"sub-01_eeg.edf": "P7 X X X", "sub-02_eeg.edf": "P7 F X X"},
			true,
			console.Failed,
			"of one person by the codes in their patient fields and of two by the sub- labels of " +
				"their names",
			""},
		{"one recording under two names", map[string]string{"a.edf": "P7 X X X", "b.edf": "P7 X X X"}, false,
			console.Failed, "byte for byte", ""},
		{"names that differ in case", map[string]string{"a.edf": "X X X X", "A.edf": "X F X X"}, true,
			console.Failed,
			"rename one", ""},
	} {
		t.Run(strings.ReplaceAll(c.what, " ", "_"), func(t *testing.T) {
			dir := recordingsOf(t, c.patients)
			out := filepath.Join(t.TempDir(), "out")
			args := []string{"average", "--condition", "a=go", "-o", out}
			if c.each {
				args = append(args, "--each")
			}
			_, stderr, code := calotte(append(args, listing(t, dir)...)...)
			if code != c.code || !strings.Contains(stderr, c.stderr) || c.stderr == "" && stderr != "" {
				t.Errorf("exit %d: %s; want %d, %q", code, stderr, c.code, c.stderr)
			}
			if strings.Contains(stderr, "P7") || strings.Contains(stderr, "P8") {
				t.Errorf("a code is shown: %s", stderr)
			}
			var names []string
			for _, path := range listing(t, out) {
				if name, ok := strings.CutSuffix(filepath.Base(path), "_a_average.tsv"); ok {
					names = append(names, name)
				}
			}
			if got := strings.Join(names, " "); got != c.averages {
				t.Errorf("averages of %q, want %q", got, c.averages)
			}
		})
	}
}

// A link is the same file, whatever its name.
func TestOneRecordingByALink(t *testing.T) {
	dir := t.TempDir()
	path := sessionFile{events: true}.write(t, filepath.Join(dir, "a.edf"))
	link := filepath.Join(dir, "b.edf")
	if err := os.Symlink(path, link); err != nil {
		t.Skip("no symbolic links here")
	}
	_, stderr, code := calotte("average", path, link, "--condition", "a=go", "-o", filepath.Join(dir, "out"))
	if code != console.Misused || !strings.Contains(stderr, "are one file") {
		t.Errorf("exit %d: %s", code, stderr)
	}
}

// The name of a file made elsewhere need not be fit for one of ours.
func TestAveragesOfAnOddName(t *testing.T) {
	dir := t.TempDir()
	path := sessionFile{events: true}.write(t, filepath.Join(dir, "rec 1 (old).edf"))
	out := must(t, "average", path, "--condition", "a=go", "-o", filepath.Join(dir, "out"))
	if !strings.Contains(out, "rec-1--old-_a_average.tsv") {
		t.Error(out)
	}
}

func TestConditionsThatShareEpochs(t *testing.T) {
	dir := t.TempDir()
	path := sessionFile{events: true}.write(t, filepath.Join(dir, "sub-07_eeg.edf"))
	out := filepath.Join(dir, "out")
	_, stderr, code := calotte("average", path, "--condition", "go=go", "--condition", "both=go,stop", "-o", out)
	if code != console.OK || !strings.Contains(stderr, "note: conditions go and both share epochs") {
		t.Errorf("exit %d: %s", code, stderr)
	}
	_, stderr, code = calotte("combine", filepath.Join(out, "sub-07_go_average.tsv"),
		filepath.Join(out, "sub-07_both_average.tsv"),
		"--difference", "both,go", "-o", out)
	if code != console.Failed || !strings.Contains(stderr, `share the event "go"`) {
		t.Errorf("exit %d: %s", code, stderr)
	}
}
