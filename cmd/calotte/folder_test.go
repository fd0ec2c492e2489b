package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"calotte/topo/erp"
	"calotte/topo/erp/average"
	"calotte/topo/erp/reject"
)

// dataset writes a BIDS folder of one-person recordings, each with its
// sidecars, and returns its path: runs 1 and 2 of session 01 of participant 01,
// session 02 of the same, and participant 02 without sessions. Annotations say
// other things than the tables, in which P8 is bad and the last signal is no
// EEG.
func dataset(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	writeFile(t, filepath.Join(dir, "dataset_description.json"),
		`{"Name": "Harbour school", "BIDSVersion": "1.8.0"}`)
	for k, stem := range []string{
		"sub-01/ses-01/eeg/sub-01_ses-01_task-flags_run-1", "sub-01/ses-01/eeg/sub-01_ses-01_task-flags_run-2",
		"sub-01/ses-02/eeg/sub-01_ses-02_task-flags_run-1", "sub-02/eeg/sub-02_task-flags_run-1",
	} {
		path := filepath.Join(dir, filepath.FromSlash(stem))
		sessionFile{events: true, factor: 1 + float64(k)/10,
			labels: append(slices.Clone(eightSites), "Aux")}.write(t,
			path+"_eeg.edf")
		events := "onset\tduration\ttrial_type\tresponse\n"
		for k := 1; k < 9; k++ {
			kind, answer := "known", "correct"
			if k%2 == 0 {
				kind = "novel"
			}
			if k > 6 {
				answer = "wrong"
			}
			events += fmt.Sprintf("%d\t0\t%s\t%s\n", k, kind, answer)
		}
		writeFile(t, path+"_events.tsv", events)
	}
	channels := "name\ttype\tunits\tstatus\n"
	for _, s := range eightSites {
		status := "good"
		if s == "P8" {
			status = "bad"
		}
		channels += s + "\tEEG\tuV\t" + status + "\n"
	}
	writeFile(t, filepath.Join(dir, "task-flags_channels.tsv"), channels+"Aux\tMISC\tuV\tgood\n")
	writeFile(t, filepath.Join(dir, "task-flags_eeg.json"),
		`{"TaskName": "flags", "PowerLineFrequency": 50, "EEGReference": "Cz"}`)
	return dir
}

func readInfo(t *testing.T, path string) average.Info {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var info average.Info
	if err := json.Unmarshal(b, &info); err != nil {
		t.Fatal(err)
	}
	return info
}

// Runs are pooled, sessions averaged apart, events chosen by columns, the bad
// channel and the one that is no EEG left out, and the sidecars hashed.
func TestAverageFolder(t *testing.T) {
	data, out := dataset(t), t.TempDir()
	must(t, "average", data, "--participant", "01", "--task", "flags",
		"--condition", "known=trial_type:known and response:correct", "--condition", "all=known,novel", "-o",
		out)
	for stem, want := range map[string]int{"sub-01_ses-01": 6, "sub-01_ses-02": 3} {
		info := readInfo(t, filepath.Join(out, stem+"_known_average.json"))
		if info.Epochs == nil || info.Epochs.Kept != want {
			t.Errorf("%s: %+v, want %d epochs", stem, info.Epochs, want)
		}
		var inputs []string
		for _, s := range info.Provenance.Inputs {
			inputs = append(inputs, s.Name)
		}
		for _, name := range []string{stem + "_task-flags_run-1_eeg.edf", stem + "_task-flags_run-1_events.tsv",
			"task-flags_channels.tsv", "task-flags_eeg.json"} {
			if !slices.Contains(inputs, name) {
				t.Errorf("%s: inputs %v lack %s", stem, inputs, name)
			}
		}
		b, err := os.ReadFile(filepath.Join(out, stem+"_all_average.tsv"))
		if err != nil {
			t.Fatal(err)
		}
		if header, _, _ := strings.Cut(string(b), "\n"); header != "time\tFz\tC3\tCz\tC4\tPz\tP7\tOz" {
			t.Errorf("%s: header %q", stem, header)
		}
	}
}

// A bad channel comes back where it is repaired, and the average says so.
func TestAverageRepairsMarked(t *testing.T) {
	data, out := dataset(t), t.TempDir()
	must(t, "average", data, "--participant", "sub-02", "--condition", "known=known", "--repair", "bad", "-o", out)
	info := readInfo(t, filepath.Join(out, "sub-02_known_average.json"))
	if !slices.Equal(info.Repaired, []string{"P8"}) || len(info.Repairs) != 1 ||
		info.Repairs[0].Reason != erp.MarkedBad {
		t.Errorf("repaired %v, %+v", info.Repaired, info.Repairs)
	}
}

func TestFolderIsOnlyRead(t *testing.T) {
	data := dataset(t)
	before := listing(t, data)
	if err := filepath.WalkDir(data, func(path string, e os.DirEntry, err error) error {
		if err == nil && e.IsDir() {
			return os.Chmod(path, 0o555)
		}
		return err
	}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		filepath.WalkDir(data, func(path string, e os.DirEntry, err error) error {
			return os.Chmod(path,
				0o755)
		})
	})
	must(t, "average", data, "--each", "--condition", "known=known", "-o", t.TempDir())
	must(t, "contents", data)
	must(t, "contents", "--check", data, "--participant", "02")
	if after := listing(t, data); !slices.Equal(after, before) {
		t.Errorf("the data set changed: %v", after)
	}
}

func TestContentsFolder(t *testing.T) {
	data := dataset(t)
	if err := os.Remove(filepath.Join(data, "sub-02", "eeg", "sub-02_task-flags_run-1_events.tsv")); err != nil {
		t.Fatal(err)
	}
	text := must(t, "contents", data)
	for _, want := range []string{"Harbour school", "2: 01 02",
		"sub-01/ses-02/eeg/sub-01_ses-02_task-flags_run-1_eeg.edf\n",
		"sub-02_task-flags_run-1_eeg.edf (without events)"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not said:\n%s", want, text)
		}
	}
	text = must(t, "contents", data, "--participant", "01", "--session", "02")
	for _, want := range []string{"trial_type: known (4), novel (4)", "response: correct (6), wrong (2)",
		"marked bad  P8", "Aux: no EEG"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not said:\n%s", want, text)
		}
	}
}

// A table given by hand takes the place of the annotations; codes and crossings
// of channels make events.
func TestEventsFromElsewhere(t *testing.T) {
	dir := t.TempDir()
	rec := sessionFile{events: true, labels: append(slices.Clone(eightSites), "Photo")}.write(t,
		filepath.Join(dir, "rec.edf"))
	events := writeFile(t, filepath.Join(dir, "events.csv"), "onset,flag\n1.25,red\n3.25,blue\n99,red\n")
	text := must(t, "contents", rec, "--events", events, "--event-label", "flag")
	for _, want := range []string{"red             2", "blue            1",
		"20 annotations of the recording are left aside", "1 of 3 events lie where nothing was recorded"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not said:\n%s", want, text)
		}
	}
	// Photo is 9 µV times a cosine of 2 Hz that is at its top at every half
	// second.
	text = must(t, "contents", rec, "--onsets", "Photo>8.9uV")
	if !strings.Contains(text, "Photo          20") {
		t.Errorf("want 20 crossings:\n%s", text)
	}
	text = must(t, "contents", rec, "--onsets", "Photo>8.9uV/700ms")
	if !strings.Contains(text, "Photo          10") {
		t.Errorf("want 10 crossings with a pause of 700 ms:\n%s", text)
	}
	text = must(t, "contents", "--check", rec, "--onsets", "Photo>8.9uV", "--of", "go")
	if !strings.Contains(text, "after the trigger") {
		t.Errorf("no lag is told:\n%s", text)
	}
	out := t.TempDir()
	must(t, "average", rec, "--events", events, "--event-label", "flag", "--condition", "red=red",
		"--after-trigger",
		"250ms", "--epoch", "-100..300ms", "-o", out)
	info := readInfo(t, filepath.Join(out, "rec_red_average.json"))
	if info.Epochs.Kept != 1 || info.Epochs.Rejected[reject.OutsideData] != 1 ||
		!strings.Contains(info.Timing, "events 250ms after their marks") {
		t.Errorf("%+v, %q", info.Epochs, info.Timing)
	}
}

func TestFolderMistakes(t *testing.T) {
	folder := func(t *testing.T, dir string) string {
		for _, stem := range []string{"sub-01", "sub-02"} {
			sessionFile{events: true}.write(t, filepath.Join(dir, stem, "eeg", stem+"_task-flags_eeg.edf"))
		}
		return dir
	}
	for _, m := range []mistake{
		{"somebody who is not there", folder, "average FILE --participant 03 --condition a=go -o OUT", failed,
			[]string{"no recording has sub-03", "sub-01, sub-02"}},
		{"a task that is not there", folder,
			"average FILE --participant 01 --task knots --condition a=go -o OUT",
			failed, []string{"task-knots", "task-flags"}},
		{"two people", folder, "average FILE --condition a=go -o OUT", usage,
			[]string{"different people", "--each"}},
		{"a table for two", folder, "average FILE --events x.tsv --each --condition a=go -o OUT", usage,
			[]string{"--events", "2 are given"}},
		{"a missing table", edf(sessionFile{events: true}),
			"average FILE --events nowhere.tsv --condition a=go -o OUT",
			failed, []string{"nowhere.tsv"}},
		{"a selector of nothing", edf(sessionFile{events: true}), "average FILE --condition a= -o OUT", usage,
			[]string{"no event label"}},
		{"a column that is not there", edf(sessionFile{events: true}),
			"average FILE --condition a=kind:x -o OUT",
			failed, []string{`no column "kind"`, "labels only"}},
		{"a broken selector", edf(sessionFile{events: true}), "average FILE --condition a=(go -o OUT", usage,
			[]string{"condition a", "column"}},
		{"a lock without responses", edf(sessionFile{events: true}),
			"average FILE --condition a=go --lock response -o OUT", usage, []string{"--response"}},
		{"an eye that is not there", edf(sessionFile{events: true}),
			"average FILE --condition a=go --blinks VEOG -o OUT", failed, []string{`"VEOG"`, "rec.edf"}},
		{"a reference that was recorded", edf(sessionFile{events: true}),
			"average FILE --condition a=go --restore-reference Cz -o OUT", failed,
			[]string{"Cz was recorded"}},
		{"too few epochs", edf(sessionFile{events: true}), "average FILE --condition a=go --minimum 20 -o OUT",
			failed,
			[]string{"minimum is 20"}},
		{"a step without a unit", edf(sessionFile{events: true}),
			"average FILE --condition a=go --reject-step 50 -o OUT", usage, []string{"unit"}},
		{"step-over alone", edf(sessionFile{events: true}),
			"average FILE --condition a=go --step-over 100ms -o OUT",
			usage, []string{"--reject-step"}},
		{"a window outside the epoch", edf(sessionFile{events: true}),
			"average FILE --condition a=go --sme 2..3s -o OUT", failed, []string{"outside"}},
	} {
		t.Run(m.name, m.check)
	}
}
