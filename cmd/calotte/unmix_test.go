package main

import (
	"bytes"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/topo/erp/average"
	"calotte/topo/recording"
)

// blinking writes some seconds at 100 Hz of peaked sources at the eight sites
// and at the forehead, with blinks there, and a "go" each second.
func blinking(t *testing.T, path string, seconds int, seed uint64) string {
	t.Helper()
	sites := append([]string{"Fp1", "Fp2"}, eightSites...)
	const rate = 100
	h := recording.Header{Patient: "X X X X", Recording: "Startdate 01-MAR-2026 X X synthetic",
		Kind: recording.EDFPlusC, Start: time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC), Records: seconds,
		RecordDuration: 1}
	for _, l := range sites {
		h.Signals = append(h.Signals, recording.Signal{Label: l, Unit: "uV", PhysicalMin: -3276.8,
			PhysicalMax: 3276.7, DigitalMin: -32768, DigitalMax: 32767, SamplesPerRecord: rate})
	}
	rng := rand.New(rand.NewPCG(seed, 7))
	mixing := make([]float64, len(sites)*len(sites))
	for k := range mixing {
		mixing[k] = rng.NormFloat64()
	}
	slow := make([]float64, len(sites)-1)
	var file bytes.Buffer
	w, err := recording.NewWriter(&file, h)
	if err != nil {
		t.Fatal(err)
	}
	for second := range seconds {
		block := make([][]float64, len(sites))
		for i := range block {
			block[i] = make([]float64, rate)
		}
		for k := range rate {
			for j := range slow {
				slow[j] = 0.9*slow[j] + rng.ExpFloat64()*math.Copysign(1, rng.Float64()-.5)
				for i := range block {
					block[i][k] += mixing[i*len(sites)+j] * slow[j]
				}
			}
			if second%3 == 0 && k < 30 {
				blink := 250 * math.Pow(math.Sin(math.Pi*float64(k)/30), 2)
				for i := range block {
					block[i][k] += blink * map[bool]float64{true: 1, false: .1}[i < 2]
				}
			}
		}
		if err := w.WriteRecord(block, []recording.Event{{Onset: float64(second) + .1, Duration: math.NaN(),
			Text: "go"}}); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return writeFile(t, path, file.String())
}

// A newcomer's way: unmix, accept the suggestions, average.
func TestUnmixThenAverage(t *testing.T) {
	dir := t.TempDir()
	rec := blinking(t, filepath.Join(dir, "sub-01_eeg.edf"), 60, 1)
	stdout, stderr, code := calotte("unmix", rec, "-o", dir)
	if code != console.OK || !strings.Contains(stdout, "sub-01: 10 components of 10 sites, from 60 s at 100 Hz") ||
		!strings.Contains(stdout,
			"suggested to be taken out: 1 of 10 independent components (eye: blink 1), which "+
				"leaves 9 dimensions") {
		t.Fatalf("exit %d: %s%s", code, stdout, stderr)
	}
	table := filepath.Join(dir, "sub-01_unmix.tsv")
	pdf, err := os.ReadFile(filepath.Join(dir, "sub-01_unmix.pdf"))
	if err != nil || !bytes.HasPrefix(pdf, []byte("%PDF")) {
		t.Errorf("the sheet: %v", err)
	}
	lost := func(args ...string) average.Info {
		out := t.TempDir()
		must(t, append([]string{"average", rec, "--condition", "go=go", "--epoch", "-50..300ms", "--reject",
			"150uV",
			"-o", out}, args...)...)
		info, err := archive.ReadInfo(filepath.Join(out, "sub-01_go_average.tsv"))
		if err != nil {
			t.Fatal(err)
		}
		return info
	}
	before, after := lost(), lost("--unmix", table)
	if before.Epochs.Kept > 41 || after.Epochs.Kept < 59 || before.Unmixed != nil {
		t.Errorf("%d epochs kept before, %d after", before.Epochs.Kept, after.Epochs.Kept)
	}
	u := after.Unmixed
	if u == nil || u.Removed != 1 || u.Components != 10 || !u.Suggested || u.Looks["eye: blink"] != 1 {
		t.Fatalf("taken out: %v", u)
	}
	var names []string
	for _, source := range after.Provenance.Inputs {
		names = append(names, source.Name)
	}
	if got := strings.Join(names, " "); got != "sub-01_eeg.edf sub-01_unmix.tsv sub-01_unmix.json" {
		t.Errorf("inputs %q", got)
	}
	words := must(t, "methods", averagedWithout(t, dir, rec, table), "--in", dir)
	for _, want := range []string{"Taken out: 1 of 10 components (eye: blink 1).",
		"The choice was that of stated rules"} {
		if !strings.Contains(words, want) {
			t.Errorf("the methods do not say %q: %s", want, words)
		}
	}
	edit(t, table, "eye: blink\tyes", "eye: blink\tno")
	if kept := lost("--unmix", table); kept.Epochs.Kept != before.Epochs.Kept || kept.Unmixed.Suggested {
		t.Errorf("with nothing taken out %d epochs are kept, without unmixing %d", kept.Epochs.Kept,
			before.Epochs.Kept)
	}
	// Nobody's decisions are written over.
	if _, stderr, code = calotte("unmix", rec, "-o", dir); code != console.Failed ||
		!strings.Contains(stderr, "sub-01_unmix.tsv exists") {
		t.Errorf("exit %d: %s", code, stderr)
	}
}

// averagedWithout averages a recording into the folder and returns the table.
func averagedWithout(t *testing.T, dir, rec, table string) string {
	t.Helper()
	must(t, "average", rec, "--condition", "go=go", "--epoch", "-50..300ms", "--unmix", table, "-o", dir)
	return filepath.Join(dir, "sub-01_go_average.tsv")
}

// edit replaces a text in a file that has to hold it.
func edit(t *testing.T, path, old, new string) {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil || !bytes.Contains(b, []byte(old)) {
		t.Fatalf("%s holds no %q: %v", path, old, err)
	}
	writeFile(t, path, strings.Replace(string(b), old, new, 1))
}

// Whatever is wrong with the flags or the files is one line.
func TestUnmixMistakes(t *testing.T) {
	dir := t.TempDir()
	rec := blinking(t, filepath.Join(dir, "sub-01_eeg.edf"), 60, 1)
	must(t, "unmix", rec, "-o", dir)
	other := blinking(t, filepath.Join(dir, "sub-02_eeg.edf"), 60, 2)
	must(t, "unmix", other, "-o", dir)
	in := func(name string) string { return filepath.Join(dir, name) }
	own := func(path string) func(*testing.T, string) string {
		return func(*testing.T, string) string { return path }
	}
	table, err := os.ReadFile(in("sub-01_unmix.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	weights, err := os.ReadFile(in("sub-01_unmix.json"))
	if err != nil {
		t.Fatal(err)
	}
	others, err := os.ReadFile(in("sub-02_unmix.json"))
	if err != nil {
		t.Fatal(err)
	}
	// beside writes a table, and the weights beside it unless they are
	// empty.
	beside := func(name, text, weights string) string {
		if weights != "" {
			writeFile(t, in(name+"_unmix.json"), weights)
		}
		return writeFile(t, in(name+"_unmix.tsv"), text)
	}
	lines := strings.SplitAfter(string(table), "\n")
	twice := beside("twice", string(table)+lines[1], string(weights))
	all := beside("all", strings.ReplaceAll(string(table), "\tno\t", "\tyes\t"), string(weights))
	lonely := beside("lonely", string(table), "")
	damaged := beside("damaged", string(table), "{}")
	swapped := beside("swapped", string(table), string(others))
	copied := beside("copied", string(table), string(weights))
	cut := beside("cut", string(table), string(weights[:len(weights)/2]))
	huge := beside("huge", string(table), strings.Replace(string(weights), "[", "[1e999, ", 1))
	latin := beside("latin", strings.Replace(string(table), "none of these", "nothing \xe0 retirer", 1),
		string(weights))
	empty := beside("empty", "", string(weights))
	wordy := beside("wordy", strings.Replace(string(table), "\tno\t", "\tperhaps\t", 1), string(weights))
	changed := t.TempDir()
	again := blinking(t, filepath.Join(changed, "sub-01_eeg.edf"), 60, 3)
	for _, m := range []mistake{
		{"no output", own(rec), "unmix FILE", usage, []string{"-o unmixed"}},
		{"no recording", own(rec), "unmix -o OUT", usage, []string{"one recording or more"}},
		{"one dimension", own(rec), "unmix FILE --dimensions 1 -o OUT", usage, []string{"expected 2 or more"}},
		{"filter", own(rec), "unmix FILE --lowpass 0.5Hz -o OUT", usage, []string{"let nothing through"}},
		{"no high-pass", own(rec), "unmix FILE --highpass 0Hz -o OUT", usage, []string{"such as 1Hz"}},
		{"three eyes", own(rec), "unmix FILE --eyes Fp1,Fp2,Fz -o OUT", usage, []string{"3 channels"}},
		{"no such eye", own(rec), "unmix FILE --eyes VEOG -o OUT", failed, []string{`"VEOG"`}},
		{"no such condition", own(rec), "unmix FILE --condition a=stop -o OUT", failed,
			[]string{"stop", "go (60)"}},
		{"too short", func(t *testing.T, dir string) string {
			return blinking(t, filepath.Join(dir, "rec.edf"), 4, 1)
		}, "unmix FILE -o OUT", failed,
			[]string{"rec.edf", "400 samples are too few for 10 components", "ask for 8 or fewer"}},
		{"another name", own(rec), "average FILE --condition a=go --unmix rec.tsv -o OUT", usage,
			[]string{"_unmix.tsv"}},
		{"no table", own(rec), "average FILE --condition a=go --unmix " + in("no_unmix.tsv") + " -o OUT",
			failed,
			[]string{"no_unmix.tsv"}},
		{"no weights", own(rec), "average FILE --condition a=go --unmix " + lonely + " -o OUT", failed,
			[]string{"the weights that belong to", "lonely_unmix.json"}},
		{"damaged weights", own(rec), "average FILE --condition a=go --unmix " + damaged + " -o OUT", failed,
			[]string{"damaged_unmix.json", "not the weights of independent components"}},
		{"twice", own(rec), "average FILE --condition a=go --unmix " + twice + " -o OUT", failed,
			[]string{"twice_unmix.tsv", "line 12", "1 a second time"}},
		{"all removed", own(rec), "average FILE --condition a=go --unmix " + all + " -o OUT", failed,
			[]string{"yes for all components"}},
		{"cut short", own(rec), "average FILE --condition a=go --unmix " + cut + " -o OUT", failed,
			[]string{"cut_unmix.json", "not the weights of independent components"}},
		{"beyond numbers", own(rec), "average FILE --condition a=go --unmix " + huge + " -o OUT", failed,
			[]string{"huge_unmix.json", "not the weights of independent components"}},
		{"not UTF-8", own(rec), "average FILE --condition a=go --unmix " + latin + " -o OUT", failed,
			[]string{"latin_unmix.tsv", "UTF-8"}},
		{"empty", own(rec), "average FILE --condition a=go --unmix " + empty + " -o OUT", failed,
			[]string{"empty_unmix.tsv"}},
		{"neither yes nor no", own(rec), "average FILE --condition a=go --unmix " + wordy + " -o OUT", failed,
			[]string{"wordy_unmix.tsv", `"perhaps"`, "yes or no"}},
		{"other weights", own(rec), "average FILE --condition a=go --unmix " + swapped + " -o OUT", failed,
			[]string{"swapped_unmix.tsv", "line 2", "of another recording"}},
		{"other recording", own(other), "average FILE --condition a=go --unmix " + copied + " -o OUT", failed,
			[]string{"sub-02_eeg.edf", "of other recordings (sub-01_eeg.edf)"}},
		{"other bytes", own(again), "average FILE --condition a=go --unmix " + copied + " -o OUT", failed,
			[]string{"sub-01_eeg.edf", "its bytes differ"}},
	} {
		t.Run(m.name, m.check)
	}
}

// The first channel that is not sideways serves as the vertical one.
func TestEyesOf(t *testing.T) {
	for labels, want := range map[string]string{
		"": "", "HEOG": "", "VEOG": "VEOG", "VEOG HEOG": "VEOG HEOG", "VEOGu VEOGl heog HEOG2": "VEOGu heog",
	} {
		var got []string
		for _, c := range eyesOf(strings.Fields(labels)) {
			got = append(got, c.String())
		}
		if strings.Join(got, " ") != want {
			t.Errorf("of %q: %v, want %q", labels, got, want)
		}
	}
}
