package main

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/render/canvas"
	"calotte/topo/erp/average"
	"calotte/topo/forward/study"
	"calotte/topo/unit"
)

// The demo gives back what was planted: recovery, not evidence. Each
// component's peak in the grand average is within three samples, 12 ms, of the truth, its
// amplitude within four standard errors of it, and the side is right.
func TestDemoRecoversThePlanted(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates a whole study")
	}
	dir := filepath.Join(t.TempDir(), "demo")
	out := must(t, "demo", dir)
	for _, want := range []string{"$ calotte average", "$ calotte map", "truth.tsv", "Then try:"} {
		if !strings.Contains(out, want) {
			t.Errorf("the demo does not say %q", want)
		}
	}
	checkDemoFiles(t, dir)
	checkFigures(t, dir)
	checkFacts(t, dir)
	s, err := study.New(1)
	if err != nil {
		t.Fatal(err)
	}
	truth, err := s.Truth()
	if err != nil {
		t.Fatal(err)
	}
	checked := 0
	for _, row := range truth {
		if row.Participant != study.Group {
			continue
		}
		checked++
		a, _, err := archive.Load(filepath.Join(dir, "results", "group",
			"pilots_"+row.Condition+"_average.tsv"),
			average.Clock{})
		if err != nil {
			t.Fatal(err)
		}
		mean, sem := traceOf(t, a, row.Site)
		at := nearest(a.Times, row.Latency)
		if got := mean[at]; math.Abs(got-row.Amplitude) > 4*sem[at] ||
			math.Signbit(got) != math.Signbit(row.Amplitude) {
			t.Errorf("%s, %s at %s: %.2f ± %.2f µV, planted %.2f", row.Component, row.Condition, row.Site,
				got,
				sem[at],
				row.Amplitude)
		}
		// A difference as small as the noise has no peak to speak of.
		if math.Abs(row.Amplitude) < 4*sem[at] {
			continue
		}
		if peak := a.Times[extremum(a.Times, mean, row)]; math.Abs(peak-row.Latency) > 0.012 {
			t.Errorf("%s, %s at %s: peak at %.0f ms, planted at %.0f", row.Component, row.Condition,
				row.Site,
				peak*1e3,
				row.Latency*1e3)
		}
	}
	if checked < 12 {
		t.Errorf("only %d rows of the truth were checked", checked)
	}
}

// checkFacts measures what the trade knows of such responses (common practice,
// no source): a first positive deflection over visual cortex at about 80 to 100
// ms, and a negativity at about 170 ms over T5 and T6 that is larger for what
// is known, and here on the right.
func checkFacts(t *testing.T, demo string) {
	t.Helper()
	average := func(condition string) string {
		return filepath.Join(demo, "results", "group", "pilots_"+condition+"_average.tsv")
	}
	first := cellsOf(t, must(t, "components", average("known"), "--window", "first=60..130ms", "--polarity",
		"positive",
		"--of", "O1,O2"))
	for _, r := range first[:2] {
		if at := number(t, r["peak_latency"]); at < .08 || at > .105 {
			t.Errorf("the first positivity at %s is at %g s", r["site"], at)
		}
	}
	rows := cellsOf(t, must(t, "components", average("known"), average("novel"), "--window", "n170=140..200ms",
		"--polarity", "negative", "--of", "T5,T6"))
	for _, r := range rows {
		if at := r["peak_latency"]; r["site"] != "field power" &&
			(number(t, at) < .16 || number(t, at) > .185) {
			t.Errorf("%s, %s: the negativity is at %s s", r["condition"], r["site"], at)
		}
	}
	known, novel := number(t, rows[1]["mean"]), number(t, rows[4]["mean"])
	sides := cellsOf(t, must(t, "asymmetry", average("known"), average("known-novel"), "--at", "150..190ms", "--of",
		"T6"))
	right, more := number(t, sides[0]["high"]), number(t, sides[1]["high"])
	if known >= novel || right >= 0 || more >= 0 {
		t.Errorf("at T6 known %.2f, novel %.2f µV; right minus left up to %.2f, more so for known up to %.2f",
			known,
			novel, right, more)
	}
}

// The smallest turns that explain the pairs of an invented map (known flags of
// the demo at 150 to 190 ms, before three of its people moved their eyes) are those of an
// independent search over all rotations of a spline of order 4 (the slide is
// the angle times the radius of 560 mm of circumference).
func TestSmallestTurnsAgainstASearch(t *testing.T) {
	known := filepath.Join("..", "..", "testdata", "topo", "turns.tsv")
	want := map[string]float64{"T9": 5.64, "O1": 3.20, "PO7": 4.89, "TP7": 4.38, "P7": 8.47}
	for _, r := range cellsOf(t, must(t, "asymmetry", known, "--at", "150..190ms", "--of", "T9,O1,PO7,TP7,P7")) {
		if got := number(t, r["smallest_turn_mm"]); math.Abs(got-want[r["left"]]) > .1 {
			t.Errorf("%s: the smallest turn is %g mm, want %g", r["left"], got, want[r["left"]])
		}
		if yaw := r["smallest_yaw_deg"]; r["left"] == "T9" && math.Abs(number(t, yaw)+3.61) > .05 {
			t.Errorf("T9: %s° of twist, want −3.61°, the front to the right", yaw)
		}
	}
}

func TestInterruptedDemoLeavesNothing(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	dir := filepath.Join(t.TempDir(), "demo")
	var out, errs bytes.Buffer
	code := console.Report(&errs, run(ctx, []string{"demo", dir}, strings.NewReader(""), &out, &errs))
	if code != console.Interrupted || !strings.Contains(errs.String(), "interrupted") {
		t.Errorf("exit %d: %s", code, errs.String())
	}
	if left := listing(t, dir); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// checkDemoFiles looks at the size, at the words "synthetic" and at the
// provenance of the figure.
func checkDemoFiles(t *testing.T, dir string) {
	t.Helper()
	var size int64
	for _, path := range listing(t, dir) {
		info, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		size += info.Size()
		if strings.HasSuffix(path, "_average.json") {
			text, err := os.ReadFile(path)
			if err != nil || !strings.Contains(string(text), `"synthetic": true`) {
				t.Errorf("%s does not say that its data are synthetic (%v)", path, err)
			}
		}
	}
	if size > 110e6 {
		t.Errorf("the demo wrote %d bytes, more than 110 MB", size)
	}
	file, err := os.Open(filepath.Join(dir, "results", "figures", "maps.png"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		t.Fatal(err)
	}
	made, err := canvas.ReadProvenance(file, info.Size())
	if err != nil || made.Work != "map" || len(made.Inputs) != 4 || made.Settings["at"] != "95ms,170ms,350ms" {
		t.Errorf("provenance of maps.png: %+v (%v)", made, err)
	}
	for _, in := range made.Inputs {
		if strings.ContainsAny(in.Name, `/\`) || len(in.SHA256) != 64 {
			t.Errorf("input %+v: want a base name and a hash", in)
		}
	}
}

// traceOf returns mean and standard error at a site or of a pair.
func traceOf(t *testing.T, a *average.Average, site string) (mean, sem []float64) {
	t.Helper()
	for i, s := range a.Sites {
		if s == site {
			return a.Mean[i], a.SEM[i]
		}
	}
	for i, s := range a.Pairs.Names {
		if s == site {
			return a.Pairs.Mean[i], a.Pairs.SEM[i]
		}
	}
	t.Fatalf("no %s among the sites and pairs", site)
	return nil, nil
}

func nearest(times []float64, t float64) int {
	best := 0
	for i, x := range times {
		if math.Abs(x-t) < math.Abs(times[best]-t) {
			best = i
		}
	}
	return best
}

// extremum is the sample within 40 ms of the truth where the trace is farthest
// from zero on the planted side.
func extremum(times, trace []float64, row study.TruthRow) int {
	best := nearest(times, row.Latency)
	for i, x := range times {
		if math.Abs(x-row.Latency) <= 0.04 && trace[i]*row.Amplitude > trace[best]*row.Amplitude {
			best = i
		}
	}
	return best
}

// Figures and tables are the same bytes for any number of processors, in every
// format, and read back as what they are.
func TestMapsOfAnyNumberOfJobs(t *testing.T) {
	dir := t.TempDir()
	table := writeFile(t, filepath.Join(dir, "own.tsv"), averageTable(tableHeader, wave))
	for _, ext := range []string{"png", "svg", "pdf"} {
		var first []byte
		for _, jobs := range []string{"1", "3"} {
			path := filepath.Join(dir, "map"+jobs+"."+ext)
			must(t, "map", table, "--at", "100ms,50..150ms", "--labels", "--jobs", jobs, "-o", path)
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if first == nil {
				first = text
			} else if string(first) != string(text) {
				t.Errorf("%s: the bytes depend on the number of processors", ext)
			}
		}
	}
}

// A recording through the whole chain and back: the cosine that the fixture
// plants comes out at its amplitude, on the right side.
func TestRecordingToValues(t *testing.T) {
	dir := t.TempDir()
	path := sessionFile{events: true}.write(t, filepath.Join(dir, "sub-07_eeg.edf"))
	out := filepath.Join(dir, "out")
	must(t, "average", path, "--condition", "go=go", "--condition", "both=go,stop", "--epoch", "-100..400ms",
		"--baseline", "none", "-o", out)
	a, _, err := archive.Load(filepath.Join(out, "sub-07_go_average.tsv"), average.Clock{})
	if err != nil {
		t.Fatal(err)
	}
	// The first event has no 100 ms before it.
	if a.Info.Epochs.Kept != 9 || a.Info.Epochs.Lost() != 1 {
		t.Errorf("%+v, want 9 epochs kept and 1 lost", a.Info.Epochs)
	}
	values, err := a.At(unit.At(0.25))
	if err != nil {
		t.Fatal(err)
	}
	for i, v := range values {
		if want := -float64(i + 1); math.Abs(v-want) > 0.051 { // half a digital step
			t.Errorf("%s at 250 ms: %v, want %v", a.Sites[i], v, want)
		}
	}
	mean, _ := traceOf(t, a, "P8-P7")
	if got := mean[35]; math.Abs(got-(-1)) > 0.11 {
		t.Errorf("P8-P7 at 250 ms: %v, want -1", got)
	}
}
