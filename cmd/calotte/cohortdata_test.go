package main

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/console"
)

// Structures as those of the public BIDS examples: sessions, tasks, runs.
func TestCohortStructures(t *testing.T) {
	dir := t.TempDir()
	for i, name := range []string{
		"sub-01/ses-1/eeg/sub-01_ses-1_task-flags_run-1_eeg.edf",
		"sub-01/ses-1/eeg/sub-01_ses-1_task-flags_run-2_eeg.edf",
		"sub-01/ses-2/eeg/sub-01_ses-2_task-flags_run-1_eeg.edf",
		"sub-01/ses-1/eeg/sub-01_ses-1_task-rest_eeg.edf",
		"sub-02/ses-1/eeg/sub-02_ses-1_task-flags_run-1_eeg.edf",
		"sub-03/ses-2/eeg/sub-03_ses-2_task-flags_run-1_eeg.edf",
	} {
		sessionFile{events: true, factor: 1 + .1*float64(i)}.write(t,
			filepath.Join(dir, "data", filepath.FromSlash(name)))
	}
	recipe := "name: pilots\nrecordings: data\naverage: {condition: [go=go], epoch: -100..300ms}\n"
	path := writeFile(t, filepath.Join(dir, "recipe.yaml"), recipe)
	if text := calotteFails("cohort", "plan", path); !strings.Contains(text, "2 sessions, 1, 2") ||
		!strings.Contains(text, "add session: 1") {
		t.Errorf("two sessions: %s", text)
	}
	writeFile(t, path, recipe+"session: 1\n")
	if text := calotteFails("cohort", "plan", path); !strings.Contains(text, "2 tasks, flags, rest") {
		t.Errorf("two tasks: %s", text)
	}
	writeFile(t, path, recipe+"session: 1\ntask: flags\n")
	_, stderr, code := calotte("cohort", "run", path)
	if code != console.Failed || !strings.Contains(stderr, "sub-03") || strings.Contains(stderr, "sub-01") {
		t.Errorf("who was not there in the session: exit %d: %s", code, stderr)
	}
	text, err := os.ReadFile(filepath.Join(dir, "results", "sub-01", "sub-01_go_average.json"))
	if err != nil || !strings.Contains(string(text), "run-2") || strings.Contains(string(text), "ses-2") {
		t.Errorf("the runs of the session are not pooled: %v", err)
	}
	writeFile(t, path, recipe+"session: 1\ntask: flags\nparticipants: [01, sub-02]\nrun: 1\n")
	if out := must(t, "cohort", "run", path); !strings.Contains(out, "2 of 2 people") {
		t.Errorf("two people and one run: %s", out)
	}
	// Recordings that are named one by one are a person each; of a data set
	// they keep the tables beside them and may not be two of one.
	writeFile(t, path, strings.Replace(recipe, "data", "data/sub-01/ses-1/eeg/*flags*.edf", 1))
	if text := calotteFails("cohort", "plan", path); !strings.Contains(text, "two recordings are of sub-01") {
		t.Errorf("two runs by name: %s", text)
	}
	for i := range 2 {
		sessionFile{events: true, factor: 1 + float64(i)}.write(t,
			filepath.Join(dir, "plain", fmt.Sprintf("pilot %d.edf", i)))
	}
	writeFile(t, path, strings.Replace(recipe, "data", "plain/*.edf", 1))
	if out := must(t, "cohort", "run", path); !strings.Contains(out, "2 of 2 people") {
		t.Errorf("plain recordings: %s", out)
	}
	if _, err := os.Stat(filepath.Join(dir, "results", "sub-pilot1", "sub-pilot1_go_average.tsv")); err != nil {
		t.Error(err)
	}
}

// People with other caps cannot be combined, until the recipe says how.
func TestCohortOtherCaps(t *testing.T) {
	dir, path := smallStudy(t,
		"name: pilots\nrecordings: data\naverage: {condition: [go=go], epoch: -100..300ms}\n")
	sessionFile{events: true, labels: []string{"Fz", "C3", "Cz", "C4", "Pz", "P3", "P4", "Oz"}}.write(t,
		filepath.Join(dir, "data", "sub-03", "eeg", "sub-03_task-flags_eeg.edf"))
	_, stderr, code := calotte("cohort", "run", path)
	if code != console.Failed || !strings.Contains(stderr, "combine pilots") {
		t.Errorf("exit %d: %s", code, stderr)
	}
	writeFile(t, path, "name: pilots\nrecordings: data\naverage: {condition: [go=go], epoch: "+
		"-100..300ms}\ncombine: "+
		"{onto: 'Fz,Cz,Pz,C3,C4,Oz'}\n")
	must(t, "cohort", "run", path)
}

// How a cap sat that was digitised stands in the table of quality: by how much
// the sites of a cap turned by 6° have moved along the scalp.
func TestCohortCaps(t *testing.T) {
	recipe := strings.Replace(smallRecipe, "window: 100..200ms", "window: 100..200ms, placement: 'checked,5mm'",
		1) +
		"head: cap_head.json\n"
	dir, path := smallStudy(t, recipe)
	must(t, "place", "--circumference", "560mm", "--sites", strings.Join(eightSites, ","), "-o",
		filepath.Join(dir, "cap_electrodes.tsv"))
	sin, cos := math.Sincos(6 * math.Pi / 180)
	turned, squares := "name\tx\ty\tz\n", 0.
	rows := cellsOf(t, readText(t, filepath.Join(dir, "cap_electrodes.tsv")))
	for _, row := range rows {
		x, y, z := number(t, row["x"]), number(t, row["y"]), number(t, row["z"])
		turned += fmt.Sprintf("%s\t%.4f\t%.4f\t%.4f\n", row["name"], cos*x-sin*y, sin*x+cos*y, z)
		radius := math.Sqrt(x*x + y*y + z*z)
		chord := 2 * math.Hypot(x, y) * math.Sin(3*math.Pi/180)
		squares += math.Pow(2*radius*math.Asin(chord/2/radius), 2)
	}
	beside := filepath.Join(dir, "data", "sub-02", "eeg", "sub-02_")
	writeFile(t, beside+"electrodes.tsv", turned)
	writeFile(t, beside+"coordsystem.json", readText(t, filepath.Join(dir, "cap_coordsystem.json")))
	must(t, "cohort", "run", path)
	for _, row := range cellsOf(t, readText(t, filepath.Join(dir, "results", "quality.tsv"))) {
		if row["participant"] != "sub-02" {
			if row["cap_mm"] != "n/a" {
				t.Errorf("%s has a cap of %s", row["participant"], row["cap_mm"])
			}
			continue
		}
		if got, want := number(t, row["cap_mm"]),
			math.Sqrt(squares/float64(len(rows))); math.Abs(got-want) > .06 {
			t.Errorf("the cap is off by %g mm, want %.2f", got, want)
		}
	}
	checkPlacedScores(t, filepath.Join(dir, "results"))
}

// checkPlacedScores wants the person whose cap was checked to be read at the
// ideal sites, and surely, where the others are taken to sit off by 5 mm.
func checkPlacedScores(t *testing.T, results string) {
	t.Helper()
	error := map[string]float64{}
	for _, row := range cellsOf(t, readText(t, filepath.Join(results, "tables", "measures.tsv"))) {
		if row["condition"] == "go" && row["site"] == "Pz" {
			error[row["name"]] = number(t, row["mean_placement_se"])
		}
	}
	if len(error) != 3 || !(error["sub-02"] > 0 && error["sub-02"] < .6*error["sub-01"]) {
		t.Errorf("placement errors of %v", error)
	}
	if text := readText(t, filepath.Join(results, "tables", "measures.json")); !strings.Contains(text,
		"sub-02_capcheck.json") {
		t.Errorf("the cap check is no source: %s", text)
	}
}
