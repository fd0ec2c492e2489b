package main

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
)

// arraysOf writes noise of a size at four sites, 60 s at 100 Hz, as an array
// with its table of events beside it: so many flags of each condition.
func arraysOf(t *testing.T, dir, name string, events int, size float64, seed uint64) {
	t.Helper()
	const sites, samples = 4, 6000
	header := fmt.Sprintf("{'descr': '<f4', 'fortran_order': False, 'shape': (%d, %d), }", sites, samples)
	header += strings.Repeat(" ", 63-(10+len(header))%64) + "\n"
	var file bytes.Buffer
	file.WriteString("\x93NUMPY\x01\x00")
	binary.Write(&file, binary.LittleEndian, uint16(len(header)))
	file.WriteString(header)
	rng := rand.New(rand.NewPCG(seed, 1))
	for range sites * samples {
		binary.Write(&file, binary.LittleEndian, float32(size*rng.NormFloat64()))
	}
	writeFile(t, filepath.Join(dir, name+"_eeg.npy"), file.String())
	table := "onset\tduration\ttrial_type\n"
	for k := range 2 * events {
		table += fmt.Sprintf("%g\tn/a\t%s\n", 1+float64(k), []string{"known", "novel"}[k%2])
	}
	writeFile(t, filepath.Join(dir, name+"_events.tsv"), table)
}

// A study of arrays, whose sites stand in a file beside the recipe and whose
// events beside each of them: the rules of the recipe leave out who has few
// epochs, much noise or a large measurement error in some condition, which is
// told everywhere and is no failure.
func TestRulesLeavePeopleOut(t *testing.T) {
	dir := t.TempDir()
	for k, p := range []struct {
		name   string
		events int
		size   float64
	}{{"sub-01", 25, 4}, {"sub-02", 6, 4}, {"sub-03", 25, 8}, {"sub-04", 25, 30}, {"sub-05", 25, 4}} {
		arraysOf(t, dir, p.name, p.events, p.size, uint64(k))
	}
	writeFile(t, filepath.Join(dir, "sites.txt"), "Fz\nCz\nP7\nP8\n")
	recipe := writeFile(t, filepath.Join(dir, "recipe.yaml"), `name: pilots
recordings: ['*_eeg.npy']
average:
  condition: [known=known, novel=novel]
  epoch: -100..400ms
  rate: 100Hz
  unit: uV
  sites: sites.txt
  sme: 150..190ms
  minimum: 15
  most-sme: 0.6uV
  most-noise: 3uV
`)
	stdout, stderr, code := calotte("cohort", "run", recipe)
	if code != console.OK || !strings.Contains(stdout, "2 of 5 people") {
		t.Fatalf("exit %d: %s%s", code, stdout, stderr)
	}
	text := func(name string) string {
		b, err := os.ReadFile(filepath.Join(dir, "results", name))
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	for name, why := range map[string]string{
		"sub-02": "kept 6 epochs of 6, and the minimum is 15",
		"sub-03": "over 150..190ms, and the most is 0.6uV",
		"sub-04": "µV of noise left, and the most is 3uV",
	} {
		for where, told := range map[string]string{"standard error": stderr, "index.html": text("index.html"),
			"quality.tsv": text("quality.tsv")} {
			found := false
			for line := range strings.SplitSeq(strings.ReplaceAll(told, "<li>", "\n"), "\n") {
				found = found || strings.Contains(line, name) && strings.Contains(line, "left out") &&
					strings.Contains(line, why)
			}
			if !found {
				t.Errorf("%s does not say of %s %q: %s", where, name, why, told)
			}
		}
	}
	if words := text("methods.txt"); !strings.Contains(words, "People were left out where a condition kept fewer "+
		"epochs than 15 or had more noise left than 3uV (plus-minus average) or had a larger measurement error "+
		"than 0.6uV (median over sites, Luck et al. 2021); the rule does not look at the difference") {
		t.Errorf("the methods: %s", words)
	}
	info, err := archive.ReadInfo(filepath.Join(dir, "results", "group", "pilots_known_average.tsv"))
	if err != nil || len(info.Members) != 2 {
		t.Errorf("the grand average is of %v (%v)", info.Members, err)
	}
	must(t, "cohort", "run", recipe) // again: nothing has failed
	strict := writeFile(t, filepath.Join(dir, "strict.yaml"), strings.Replace(strings.Replace(readText(t, recipe),
		"minimum: 15", "minimum: 50", 1), "name: pilots", "results: strict", 1))
	if err := calotteFails("cohort", "run", strict); !strings.Contains(err, "nobody is left") {
		t.Error(err)
	}
	if err := calotteFails("average", filepath.Join(dir, "sub-01_eeg.npy"), "--condition", "known=known", "--rate",
		"100Hz", "--unit", "uV", "--sites", filepath.Join(dir, "sites.txt"), "--most-sme", "1uV", "-o",
		dir); !strings.Contains(err, "--most-sme is of the windows of --sme") {
		t.Error(err)
	}
}

// A setting that changes what is said of a person, and no number, is told in all
// that tells of people, as in a study that begins with it.
func TestCohortSaidOtherwise(t *testing.T) {
	const otherwise = smallRecipe + "people:\n  sub-02: {minimum: 2}\n"
	dir, path := smallStudy(t, smallRecipe)
	must(t, "cohort", "run", path)
	writeFile(t, path, otherwise)
	must(t, "cohort", "run", path)
	other, path := smallStudy(t, otherwise)
	must(t, "cohort", "run", path)
	sameResults(t, results(t, filepath.Join(dir, "results")), results(t, filepath.Join(other, "results")))
}
