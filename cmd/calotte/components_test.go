package main

import (
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"
)

// What components says of a window is what the people's own waves say: the mean
// with its error over people, latencies with that of the jackknife over
// averages that leave one out.
func TestComponentsOfPeople(t *testing.T) {
	dir := t.TempDir()
	known, _ := lateral(t, dir, 8)
	in := filepath.Join(dir, "people")
	rows := cellsOf(t, must(t, "components", known, "--in", in, "--window", "late=100..200ms", "--polarity",
		"negative",
		"--of", "P8"))
	if len(rows) != 2 || rows[1]["site"] != "field power" || rows[0]["component"] != "late" ||
		rows[0]["n"] != "8" ||
		rows[0]["over"] != "people" {
		t.Fatalf("%v", rows)
	}
	var means []float64
	for k := range 8 {
		means = append(means, valuesAt(t, filepath.Join(in, fmt.Sprintf("sub-%02d_known_average.tsv", k+1)),
			"--at",
			"100..200ms", "--sites", "P8")[0].Value)
	}
	mean, sd := stat.MeanStdDev(means, nil)
	for column, want := range map[string]float64{"mean": mean, "mean_se": sd / math.Sqrt(8)} {
		if got := number(t, rows[0][column]); math.Abs(got-want) > 1e-6 {
			t.Errorf("%s is %g, want %g", column, got, want)
		}
	}
	var halves []float64
	for k := range 8 { // the same by leaving files out
		args := []string{"combine", "--name", "left", "-o", filepath.Join(dir, "left"), "--force"}
		for m := range 8 {
			if m != k {
				args = append(args, filepath.Join(in, fmt.Sprintf("sub-%02d_known_average.tsv", m+1)))
			}
		}
		must(t, args...)
		left := cellsOf(t, must(t, "components", filepath.Join(dir, "left", "left_known_average.tsv"),
			"--window",
			"late=100..200ms", "--polarity", "negative", "--of", "P8"))
		if number(t, left[0]["mean_se"]) <= 0 { // its people are found around it
			t.Errorf("%v", left[0])
		}
		halves = append(halves, number(t, left[0]["area_latency"]))
	}
	m, squares := stat.Mean(halves, nil), 0.
	for _, h := range halves {
		squares += (h - m) * (h - m)
	}
	if got, want := number(t, rows[0]["area_latency_se"]), math.Sqrt(7./8*squares); math.Abs(got-want) > 1e-7 {
		t.Errorf("the jackknife's error is %g, want %g", got, want)
	}
	// A latency found blind to condition is that of the mean over both, for
	// both.
	novel := filepath.Join(dir, "grand", "pilots_novel_average.tsv")
	blind := cellsOf(t, must(t, "components", known, novel, "--window", "late=50..250ms", "--polarity", "negative",
		"--of", "P8", "--window-from", "all-conditions", "--half-width", "30ms"))
	if blind[0]["from"] != blind[2]["from"] ||
		math.Abs(number(t, blind[0]["to"])-number(t, blind[0]["from"])-.06) > 1e-9 ||
		number(t, blind[0]["from"]) < .06 {
		t.Errorf("%v and %v", blind[0], blind[2])
	}
	if d := number(t, blind[3]["dissimilarity"]); !(d > 0 && d < 2) || blind[1]["dissimilarity"] != "NA" {
		t.Errorf("dissimilarity %v", blind[3])
	}
	pool := cellsOf(t, must(t, "components", known, "--window", "late=100..200ms", "--pool", "back=O1,O2"))
	if pool[0]["site"] != "back" || pool[0]["peak_latency"] == "" {
		t.Errorf("%v", pool)
	}
}

func TestComponentsOfEpochs(t *testing.T) {
	dir := t.TempDir()
	rec := sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf"))
	must(t, "average", rec, "--condition", "go=go", "--epoch", "-100..300ms", "--save-epochs", "-o", dir)
	average := filepath.Join(dir, "rec_go_average.tsv")
	whole := cellsOf(t, must(t, "components", average, "--window", "w=100..200ms", "--of", "Cz"))[0]
	rows := cellsOf(t, must(t, "components", average, "--window", "w=100..200ms", "--of", "Cz", "--each-epoch"))
	sum := 0.
	for _, r := range rows {
		sum += number(t, r["mean"])
	}
	if rows[0]["event_label"] != "go" {
		t.Errorf("%v, want the label of the annotation", rows[0])
	}
	if len(rows) < 2 || whole["n"] != strconv.Itoa(len(rows)) ||
		math.Abs(sum/float64(len(rows))-number(t, whole["mean"])) > 1e-4 {
		t.Errorf("%d epochs of mean %g, the average says %v", len(rows), sum/float64(len(rows)), whole)
	}
}

// A table of trials holds what a mixed model needs: whose epoch, of which
// recording, when, how fast the answer was, and what the table of events says
// of it.
func TestComponentsOfTrials(t *testing.T) {
	dir := t.TempDir()
	events := "onset\tduration\ttrial_type\tpart\n"
	for k := range 9 {
		events += fmt.Sprintf("%d\tn/a\t%s\tpart %d\n", k, []string{"flag", "key"}[k%2], k/4)
	}
	rec := sessionFile{uneven: .3}.write(t, filepath.Join(dir, "sub-03_task-flags_eeg.edf"))
	table := writeFile(t, filepath.Join(dir, "sub-03_task-flags_events.tsv"), events)
	must(t, "average", rec, "--events", table, "--condition", "flag=flag", "--response", "key", "--response-time",
		"0..1500ms",
		"--epoch",
		"-100..300ms", "--save-epochs", "-o", dir)
	path := filepath.Join(dir, "sub-03_flag_average.tsv")
	rows := cellsOf(t, must(t, "components", path, "--window", "w=100..200ms", "--of", "Cz,Pz", "--each-epoch"))
	if len(rows)%2 != 0 || len(rows) < 6 {
		t.Fatalf("%d rows", len(rows))
	}
	for k, r := range rows {
		site := []string{"Cz", "Pz"}[2*k/len(rows)]
		onset := number(t, r["onset"])
		part := fmt.Sprintf("part %d", int(onset)/4)
		if r["participant"] != "sub-03" || r["recording"] != "sub-03_task-flags_eeg.edf" ||
			r["condition"] != "flag" ||
			r["site"] != site || int(onset)%2 != 0 || r["response_time"] != "1" ||
			r["event_part"] != part ||
			r["event_trial_type"] != "flag" || r["event_duration"] != "NA" {
			t.Errorf("row %d: %v", k+1, r)
		}
	}
	// Averaged again, the epochs keep what is known of their events.
	must(t, "average", filepath.Join(dir, "sub-03_flag_epochs.npy"), "--save-epochs", "-o",
		filepath.Join(dir, "again"))
	again := cellsOf(t, must(t, "components", filepath.Join(dir, "again", "sub-03_flag_average.tsv"), "--window",
		"w=100..200ms", "--of", "Cz,Pz", "--each-epoch"))
	if fmt.Sprint(again) != fmt.Sprint(rows) {
		t.Errorf("%v, want %v", again, rows)
	}
}

// Measurement errors are those of a person's epochs, and of a group the root
// mean square of its people's.
func TestMeasurementErrors(t *testing.T) {
	dir := t.TempDir()
	for name, uneven := range map[string]float64{"one": .3, "two": .5} {
		rec := sessionFile{events: true, uneven: uneven}.write(t, filepath.Join(dir, name+".edf"))
		must(t, "average", rec, "--condition", "go=go", "--epoch", "-100..300ms", "--save-epochs", "-o", dir)
	}
	one, two := filepath.Join(dir, "one_go_average.tsv"), filepath.Join(dir, "two_go_average.tsv")
	must(t, "combine", one, two, "--name", "both", "-o", dir)
	group := filepath.Join(dir, "both_go_average.tsv")
	rows := cellsOf(t, must(t, "components", one, two, group, "--window", "w=100..200ms", "--of", "Cz",
		"--measurement-errors"))
	if len(rows) != 6 || rows[0]["mean_sme"] != rows[0]["mean_se"] {
		t.Fatalf("of one person's epochs the two errors of the mean are one: %v", rows)
	}
	for _, column := range []string{"mean_sme", "area_sme"} {
		a, b := number(t, rows[0][column]), number(t, rows[2][column])
		if got := number(t, rows[4][column]); a == b || math.Abs(got-math.Sqrt((a*a+b*b)/2)) > 1e-6 {
			t.Errorf("%s of the group is %g, its people's %g and %g", column, got, a, b)
		}
	}
	sides := cellsOf(t, must(t, "asymmetry", one, two, group, "--at", "100..200ms", "--of", "P7",
		"--measurement-errors"))
	if sides[0]["right_minus_left_sme"] != sides[0]["sem"] || sides[2]["right_minus_left_sme"] == sides[2]["sem"] {
		t.Errorf("%v", sides)
	}
	a, b := number(t, sides[0]["left_sme"]), number(t, sides[1]["left_sme"])
	if got := number(t, sides[2]["left_sme"]); math.Abs(got-math.Sqrt((a*a+b*b)/2)) > 1e-4 {
		t.Errorf("left_sme of the group is %g, its people's %g and %g", got, a, b)
	}
	plain := writeFile(t, filepath.Join(dir, "own.tsv"), averageTable(tableHeader, wave))
	if err := calotteFails("components", plain, "--window", "0..100ms",
		"--measurement-errors"); !strings.Contains(err,
		"--save-epochs") {
		t.Error(err)
	}
}

func TestComponentsMistakes(t *testing.T) {
	plain := table("sub-01_go_average.tsv", averageTable(tableHeader, wave))
	for _, m := range []mistake{
		{"no window", plain, "components FILE", usage, []string{"--window"}},
		{"name of a site", plain, "components FILE --window P1=100..200ms", usage, []string{"P1", "--prefix"}},
		{"share", plain, "components FILE --window 100..200ms --fraction 2", usage, []string{"--fraction 2"}},
		{"site that is not there", plain, "components FILE --window 100..200ms --of O9", usage, []string{"O9"}},
		{"polarity", plain, "components FILE --window 100..200ms --polarity down", usage,
			[]string{"positive, negative or either"}},
		{"half a width alone", plain, "components FILE --window 100..200ms --half-width 10ms", usage,
			[]string{"--window-from"}},
		{"epochs that were not saved", plain, "components FILE --window 100..200ms --each-epoch", failed,
			[]string{"--save-epochs"}},
	} {
		m.check(t)
	}
	dir := t.TempDir()
	rows := cellsOf(t, must(t, "components",
		writeFile(t, filepath.Join(dir, "own.tsv"), averageTable(tableHeader, wave)), "--window", "101..109ms",
		"--of",
		"Cz"))
	if rows[0]["mean"] != "NA" || !strings.Contains(rows[0]["note"], "no sample in the window") {
		t.Errorf("a window between two samples: %v", rows[0])
	}
}

// People who are at hand but no longer as they were are an error, not a missing
// one.
func TestComponentsOfChangedPeople(t *testing.T) {
	dir := t.TempDir()
	known, _ := lateral(t, dir, 5)
	for k := range 5 {
		name := fmt.Sprintf("sub-%02d_known_average.tsv", k+1)
		text := readText(t, filepath.Join(dir, "people", name))
		writeFile(t, filepath.Join(filepath.Dir(known), name), text+strings.Repeat("\n", k/4))
	}
	err := calotteFails("components", known, "--window", "late=100..200ms", "--of", "P8")
	if !strings.Contains(err, "sub-05_known_average.tsv is not the file of which") {
		t.Error(err)
	}
}

// A difference of scores between two conditions is told with its sign in words,
// and refused of averages without people behind them.
func TestDifferencesOfScores(t *testing.T) {
	dir := t.TempDir()
	known, novel := lateral(t, dir, 8)
	args := []string{"components", "--in", filepath.Join(dir, "people"), "--window", "late=50..250ms", "--polarity",
		"negative", "--difference"}
	stdout, stderr, code := calotte(append(args, "conditions", known, novel, "--of", "P8,Cz")...)
	rows := cellsOf(t, stdout)
	if code != 0 || len(rows) != 12 || rows[0]["compared"] != "known minus novel" || rows[0]["score"] != "mean" ||
		rows[0]["n"] != "8" {
		t.Fatalf("exit %d: %s%s", code, stdout, stderr)
	}
	means := cellsOf(t, must(t, "components", known, novel, "--in", filepath.Join(dir, "people"), "--window",
		"late=50..250ms", "--polarity", "negative", "--of", "P8"))
	want := number(t, means[0]["mean"]) - number(t, means[2]["mean"])
	if got := number(t, rows[0]["difference"]); math.Abs(got-want) > 1e-6 ||
		math.Abs(number(t, rows[0]["within_difference"])-want) > 1e-6 {
		t.Errorf("%v, want %g", rows[0], want)
	}
	if !strings.Contains(stderr, "known minus novel, late at P8: area latency ") {
		t.Errorf("%s", stderr)
	}
	stdout, stderr, code = calotte(append(args, "sides", known, "--of", "P7")...)
	if rows := cellsOf(t, stdout); code != 0 || len(rows) != 6 || rows[0]["place"] != "P8 minus P7" ||
		!strings.Contains(rows[0]["compared"], "right minus left") {
		t.Errorf("exit %d: %s%s", code, stdout, stderr)
	}
	person := filepath.Join(dir, "people", "sub-01_known_average.tsv")
	for want, more := range map[string][]string{
		"takes two grand averages, not 1":     {"conditions", known},
		"is no grand average":                 {"sides", person},
		"--difference has a table of its own": {"sides", known, "--measurement-errors"},
		"expected conditions or sides":        {"hemispheres", known},
	} {
		if err := calotteFails(append(args, more...)...); !strings.Contains(err, want) {
			t.Errorf("%q does not say %q", err, want)
		}
	}
}
