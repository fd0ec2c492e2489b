package main

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/figure"
	"calotte/layout/hostile"
)

// withBudget runs a command line on a file of some size that somebody spoilt:
// it works or fails within its budget, and says why in a line.
func withBudget(t *testing.T, size int, args ...string) {
	t.Helper()
	defer hostile.Budget(t, size)()
	_, stderr, code := calotte(args...)
	if code == console.OK {
		return
	}
	lines := strings.Split(strings.TrimSuffix(stderr, "\n"), "\n")
	last := lines[len(lines)-1]
	if code != console.Failed && code != console.Misused || !strings.HasPrefix(last, "calotte: ") {
		t.Errorf("%v: exit %d: %q", args, code, last)
	}
}

// seed reads a file of the corpus for a fuzzer to work on.
func seed(f *testing.F, name string) []byte {
	f.Helper()
	return hostile.Seeds(f, os.DirFS("../../testdata/corpus"), name)[0]
}

// spoil writes a file that is one document of several, edited by a script.
func spoil(t *testing.T, path string, documents [][]byte, which byte, script []byte) (size int) {
	t.Helper()
	text := hostile.Edit(documents[int(which)%len(documents)], script)
	if err := os.WriteFile(path, text, 0o666); err != nil {
		t.Fatal(err)
	}
	return len(text)
}

// The JSON beside a table says what an average is, to every verb that reads
// one.
func FuzzAverageEdited(f *testing.F) {
	dir := f.TempDir()
	table := filepath.Join(dir, "sub-01_known_average.tsv")
	for _, suffix := range []string{"_average.tsv", "_sem.tsv"} {
		content := seed(f, "averages/sub-01_known"+suffix)
		if err := os.WriteFile(filepath.Join(dir, "sub-01_known"+suffix), content, 0o666); err != nil {
			f.Fatal(err)
		}
	}
	documents := [][]byte{seed(f, "averages/sub-01_known_average.json")}
	verbs := [][]string{
		{"contents", "--format=json"}, {"values", "--at=4ms", "--field=t"}, {"components", "--window=0..12ms"},
		{"methods"}, {"origin"}, {"combine", "--difference=known,novel", "-o", filepath.Join(dir, "out")},
	}
	for verb := range verbs {
		f.Add(byte(verb), []byte{})
		f.Add(byte(verb), []byte{0, 9, 0, 4, 0, 3, 2, 0, 0, 14, 3, 0})
	}
	f.Fuzz(func(t *testing.T, verb byte, script []byte) {
		size := spoil(t, filepath.Join(dir, "sub-01_known_average.json"), documents, 0, script)
		line := verbs[int(verb)%len(verbs)]
		withBudget(t, size, append([]string{line[0], table}, line[1:]...)...)
	})
}

// A spec is flags of a verb; JSON is YAML, too.
func FuzzSpecEdited(f *testing.F) {
	dir := f.TempDir()
	path := filepath.Join(dir, "spec.yaml")
	documents := [][]byte{
		[]byte(`{"figure":"map","inputs":"nothing.tsv","at":["100ms","150..190ms"],"width":"85mm","spline-smoothing":0.001,"labels":true,"electrodes":"a=b.tsv"}`),
		[]byte(`{"figure":"traces","inputs":["nothing.tsv"],"sites":["Cz","Pz"],"window":"150..190ms","windows":"w.tsv"}`),
		[]byte(`{"figure":"explore","inputs":["nothing_*.tsv"],"link":["at=170ms"],"notes":"x"}`),
	}
	for which := range documents {
		f.Add(byte(which), []byte{})
		f.Add(byte(which), []byte{0, 3, 5, 13, 0, 1, 8, 1})
	}
	verbs := []string{"map", "traces", "explore"}
	f.Fuzz(func(t *testing.T, which byte, script []byte) {
		size := spoil(t, path, documents, which, script)
		withBudget(t, size, verbs[int(which)%len(verbs)], "--spec", path, "-o", filepath.Join(dir, "out.html"))
	})
}

// recipeDocuments are a recipe with everything.
var recipeDocuments = [][]byte{[]byte(`{"name":"pilots","recordings":"data","results":"results","participants":["01",2],
	"average":{"condition":["go=go","stop=stop"],"epoch":"-100..200ms","reject":"150uV","repair":["Cz"]},
	"people":{"sub-01":{"repair":["Pz"]}},"combine":{"weighted":true},"differences":["go,stop"],
	"components":{"name":"measures.tsv","inputs":"people","window":"100..200ms"},
	"values":[{"name":"values.tsv","inputs":"go","at":"100ms"}],
	"figures":[{"figure":"map","name":"maps.svg","at":"100ms"},{"figure":"traces","name":"t.pdf","sites":["Cz"]}],
	"explore":{"name":"study.html"}}`)}

// notRecorded is what lies in the place of a recording.
const notRecorded = "no recording"

// brokenStudy is a folder with recordings of two people that cannot be read, so
// that a study fails fast, and its recipe.
func brokenStudy(f *testing.F) (dir, recipe string) {
	f.Helper()
	dir = f.TempDir()
	for _, name := range []string{"data/sub-01/eeg/sub-01_eeg.edf", "data/sub-02/eeg/sub-02_eeg.edf"} {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			f.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(notRecorded), 0o666); err != nil {
			f.Fatal(err)
		}
	}
	return dir, filepath.Join(dir, "recipe.yaml")
}

func FuzzRecipeEdited(f *testing.F) {
	_, path := brokenStudy(f)
	f.Add([]byte{})
	f.Add([]byte{0, 6, 5, 13, 0, 2, 8, 1})
	f.Fuzz(func(t *testing.T, script []byte) {
		size := spoil(t, path, recipeDocuments, 0, script)
		withBudget(t, size, "cohort", "plan", path)
	})
}

// What lies in a results folder may be anybody's: no record of it makes a run
// take away a file that lies elsewhere.
func FuzzResultsEdited(f *testing.F) {
	dir, recipe := brokenStudy(f)
	if err := os.WriteFile(recipe, []byte("recordings: data\naverage: {condition: [go=go]}\n"), 0o666); err != nil {
		f.Fatal(err)
	}
	status := filepath.Join(dir, "results", "status")
	recording := filepath.Join(dir, "data", "sub-01", "eeg", "sub-01_eeg.edf")
	// The hash is that of the recording.
	const file = `{"path":"../data/sub-01/eeg/sub-01_eeg.edf","sha256":"370d46ecb842a781550572ede50c7abb8a877417d227cfcbb3a8aa085f3ac501"}`
	files := []string{"average_sub-01.json", "map_old.svg.json", "hashes.json", "owner.json"}
	documents := [][]byte{
		[]byte(`{"task":"average sub-01","person":"sub-01","key":"0","state":"done","said":"","seconds":1.5,"files":[` +
			file + `]}`),
		[]byte(`{"task":"map old.svg","key":"0","state":"done","seconds":1,"files":[` + file +
			`,{"path":"sub-01/x","sha256":"0"}]}`),
		[]byte(`{"0123456789abcdef":{"size":12,"time":1,"sha256":"0"},"1":{"size":1,"time":2,"sha256":"1"}}`),
		[]byte(`{"recipe":"../recipe.yaml"}`),
	}
	const some = 192 // a run takes longer than a look, and is tried less often
	for which := range documents {
		for _, verb := range []byte{0, some} {
			f.Add(verb+byte(which), []byte{})
			f.Add(verb+byte(which), []byte{0, 2, 1, 1, 0, 3, 5, 13})
		}
	}
	f.Fuzz(func(t *testing.T, which byte, script []byte) {
		if err := errors.Join(os.RemoveAll(filepath.Dir(status)), os.MkdirAll(status, 0o777)); err != nil {
			t.Fatal(err)
		}
		size := spoil(t, filepath.Join(status, files[int(which)%len(files)]), documents, which, script)
		verb := "status"
		if which >= some {
			verb = "run"
		}
		withBudget(t, size, "cohort", verb, recipe)
		if text, err := os.ReadFile(recording); err != nil || string(text) != notRecorded {
			t.Fatalf("the recording is gone or %q (%v)", text, err)
		}
	})
}

// The turn of a cap comes from a file that capcheck printed.
func FuzzCapcheckEdited(f *testing.F) {
	path := filepath.Join(f.TempDir(), "capcheck.json")
	stdout, stderr, code := calotte("capcheck", "--tape", "Nz-Fpz 4.2cm, Iz-Oz 3.0cm, LPA-T7 3.4cm, RPA-T8 3.9cm",
		"--circumference", "560mm", "--format", "json")
	if code != console.OK {
		f.Fatal(stderr)
	}
	f.Add([]byte{})
	f.Add([]byte{0, 9, 0, 4, 0, 3, 2, 0})
	f.Fuzz(func(t *testing.T, script []byte) {
		size := spoil(t, path, [][]byte{[]byte(stdout)}, 0, script)
		defer hostile.Budget(t, size)()
		k := figure.Cap{Path: path}
		if err := k.Read(); err == nil && k.Turn.X-k.Turn.X+k.Turn.Y-k.Turn.Y+k.Turn.Z-k.Turn.Z != 0 {
			t.Errorf("a turn of %v", k.Turn)
		}
	})
}
