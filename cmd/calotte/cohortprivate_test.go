package main

import (
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"calotte/cmd/internal/console"
)

// secret is in every name that no output may hold: of the user, of folders, of
// the patient.
const secret = "q7zx"

// tells returns the first files below a folder that hold a text, letter case
// aside, or have it in their names.
func tells(t *testing.T, dir, text string) (files []string) {
	t.Helper()
	for _, path := range listing(t, dir) {
		in, err := filepath.Rel(dir, path)
		if err != nil {
			t.Fatal(err)
		}
		if info, err := os.Lstat(path); err != nil || !info.Mode().IsRegular() {
			continue
		}
		content := strings.ToLower(readText(t, path))
		if at := strings.Index(content, strings.ToLower(text)); at >= 0 {
			files = append(files, in+": …"+content[max(0, at-150):min(len(content), at+50)]+"…")
		} else if strings.Contains(strings.ToLower(in), strings.ToLower(text)) {
			files = append(files, in)
		}
	}
	return files
}

// Nothing that a study writes, be it of those who fail, says who did it, where,
// or of whom.
func TestCohortKeepsSecrets(t *testing.T) {
	top := filepath.Join(t.TempDir(), "home "+secret)
	home := filepath.Join(top, "user-"+secret)
	for name, value := range map[string]string{"HOME": home, "USERPROFILE": home, "USER": "user-" + secret,
		"LOGNAME": "user-" + secret} {
		t.Setenv(name, value)
	}
	data, made := filepath.Join(home, "clinic "+secret, "data-"+secret), filepath.Join(top, "scratch "+secret,
		"made-"+secret)
	beside := func(id, what, text string) {
		writeFile(t, filepath.Join(data, id, "eeg", id+"_task-flags_"+what), text)
	}
	recording := func(id string, s sessionFile) {
		s.patient = "code-" + secret + " F 02-MAR-1990 name-" + secret
		change := s.change
		s.change = func(file []byte) []byte {
			file = field(88, 80, "Startdate 01-MAR-2026 admin-"+secret+" by-"+secret+" with-"+secret)(file)
			if change != nil {
				file = change(file)
			}
			return file
		}
		s.write(t, filepath.Join(data, id, "eeg", id+"_task-flags_eeg.edf"))
	}
	for i, id := range []string{"sub-01", "sub-02", "sub-03"} {
		recording(id, sessionFile{events: true, factor: 1 + .3*float64(i)})
	}
	// Each of the others fails, and in another way.
	recording("sub-04", sessionFile{})
	recording("sub-05", sessionFile{events: true, change: func(file []byte) []byte { return file[:300] }})
	recording("sub-06", sessionFile{events: true, change: field(236, 8, "many")})
	recording("sub-07", sessionFile{events: true})
	beside("sub-07", "events.tsv", "onset\n1\n2\textra\n")
	recording("sub-08", sessionFile{events: true})
	beside("sub-08", "channels.tsv", "name\ttype\tunits\n")
	recording("sub-09", sessionFile{events: true})
	beside("sub-09", "electrodes.tsv", "name\tx\ty\tz\nCz\t1\t2\tthree\n")
	recording("sub-10", sessionFile{events: true})
	beside("sub-10", "events.tsv", "")
	beside("sub-11", "channels.tsv", "name\ttype\tunits\n") // without a recording
	recording("sub-12", sessionFile{events: true, labels: []string{"Fz", "Cz", "Cz"}})
	recording("sub-13", sessionFile{events: true})
	beside("sub-13", "eeg.json", "{")
	recording("sub-14", sessionFile{events: true})
	link := filepath.Join(made, "sub-14")
	for _, dir := range []string{made, filepath.Join(top, "outside-"+secret)} {
		if err := os.MkdirAll(dir, 0o777); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Symlink(filepath.Join("..", "outside-"+secret), link); err != nil {
		t.Logf("without a link: %v", err)
	}
	study := filepath.Join(home, "study "+secret)
	must(t, "place", "--circumference", "560mm", "--sites", strings.Join(eightSites, ","), "-o",
		filepath.Join(study, "cap_electrodes.tsv"))
	recipe := strings.Replace(smallRecipe, "recordings: data",
		"recordings: "+data+"\nresults: "+made+"\nhead: cap_head.json", 1)
	path := writeFile(t, filepath.Join(study, "recipe.yaml"),
		recipe+"compare: {name: clusters.tsv, inputs: [go, stop], during: 0..200ms}\n")

	_, stderr, code := calotte("cohort", "run", path, "--force")
	if code != console.Failed {
		t.Fatalf("exit %d: %s", code, stderr)
	}
	rows := cellsOf(t, must(t, "cohort", "status", path))
	failed := map[string]bool{}
	for _, row := range rows {
		if row["state"] == "failed" {
			failed[strings.Fields(row["task"])[1]] = true
			t.Log(row["task"], row["error"])
		}
	}
	for n := 4; n <= 14; n++ {
		if id := "sub-" + strconv.Itoa(100 + n)[1:]; !failed[id] && n != 14 {
			t.Errorf("%s has not failed", id)
		}
	}
	for _, text := range []string{secret, t.Name(), os.TempDir() + string(filepath.Separator)} {
		if files := tells(t, made, text); files != nil {
			t.Errorf("%q is told by\n%s", text, strings.Join(files, "\n"))
		}
	}
	if host, err := os.Hostname(); err == nil && len(host) > 4 {
		if files := tells(t, made, host); files != nil {
			t.Errorf("the host is told by\n%s", strings.Join(files, "\n"))
		}
	}
	// What jobs of a cluster print stays beside the records, too.
	t.Setenv("SLURM_ARRAY_TASK_ID", "0")
	unlock := held(t, made)
	for _, args := range [][]string{{path}, {path, "--group"}, {path, "--first=99"},
		{filepath.Join(study, "nowhere.yaml")},
		{writeFile(t, filepath.Join(study, "broken.yaml"), "recordings: nowhere\n")}} {
		_, stderr, code := calotte(append([]string{"cohort", "task"}, args...)...)
		if code == console.OK || strings.Contains(stderr, secret) {
			t.Errorf("%v: exit %d: %s", args[1:], code, stderr)
		}
	}
	unlock()
	if err := os.Remove(link); err != nil && !errors.Is(err, os.ErrNotExist) {
		t.Fatal(err)
	}
}
