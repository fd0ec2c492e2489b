package main

import (
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/averages"
)

const rehearsedRecipe = `name: pilots
recordings: data
windows: windows.tsv
average:
  condition: [go=go, stop=stop]
  epoch: -100..300ms
`

// rehearsedStudy is three people and a recipe with a declared window.
func rehearsedStudy(t *testing.T, recipe string) (dir, path string) {
	t.Helper()
	dir, path = smallStudy(t, recipe)
	writeFile(t, filepath.Join(dir, "windows.tsv"), "name\twindow\tsites\nearly\t50..90ms\tPz\nlate\t100..200ms\tP7,P8\n")
	return dir, path
}

// steady is the table of an average that has the same values all the time.
func steady(p7, p8 float64) string {
	text := "time_ms\tP7\tP8\n"
	for at := 0; at <= 200; at += 50 {
		text += fmt.Sprintf("%d\t%g\t%g\n", at, p7, p8)
	}
	return text
}

// What is planted grows with its size, the same seed gives the same table on
// any number of processors, and what was made says how.
func TestRehearse(t *testing.T) {
	dir, path := rehearsedStudy(t, rehearsedRecipe)
	out := filepath.Join(dir, "r.tsv")
	args := []string{"rehearse", path, "--of", "P8", "--people", "6,12", "--epochs", "5", "--rehearsals", "100",
		"--effect", "1uV,200uV"}
	said := must(t, append(args, "-o", out)...)
	table := readText(t, out)
	rows := cellsOf(t, table)
	if len(rows) != 2*3*2 {
		t.Fatalf("%d rows of 2 designs, 3 effects and 2 readings:\n%s", len(rows), table)
	}
	for _, row := range rows {
		share, low, high := number(t, row["share"]), number(t, row["low"]), number(t, row["high"])
		if share < low || share > high || number(t, row["found"])/100 != share {
			t.Errorf("%v", row)
		}
		if size := number(t, row["effect_uV"]); size == 200 && share != 1 || size == 0 && share > .15 {
			t.Errorf("%g µV is found in %g: %v", size, share, row)
		}
		if math.Abs(number(t, row["bias_uV"])) > number(t, row["error_uV"]) {
			t.Errorf("off by more than the error: %v", row)
		}
	}
	if rows[4]["reading"] != "P8" || number(t, rows[4]["planted_uV"]) != 200 || rows[5]["reading"] != "P7–P8: right "+
		"minus left" || number(t, rows[5]["planted_uV"]) <= 0 {
		t.Errorf("%v\n%v", rows[4], rows[5])
	}
	for _, want := range []string{"go minus stop at P8, late, 100–200 ms", "noise of 3 people",
		"with 12 people and 5 epochs a condition", "--between-sd adds how they differ", "declared in windows.tsv"} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is not said:\n%s", want, said)
		}
	}
	var record averages.TableRecord
	if err := json.Unmarshal([]byte(readText(t, filepath.Join(dir, "r.json"))), &record); err != nil ||
		record.Provenance.Work != "rehearse" || len(record.Provenance.Inputs) != 1+1+3 {
		t.Errorf("%+v, %v", record, err)
	}
	if again := must(t, append(args, "--jobs", "1")...); again != table {
		t.Errorf("on one processor:\n%s", again)
	}
	figure := filepath.Join(dir, "power.svg")
	must(t, "rehearse", path, "--people", "6,12", "--epochs", "4,8", "--rehearsals", "50", "--between-sd", "1uV", "-o",
		figure)
	text := plainText(readText(t, figure))
	for _, want := range []string{"How often 1 µV is found", "at Pz, early", "8 epochs a condition", "deviation of 1 µV"} {
		if !strings.Contains(text, want) {
			t.Errorf("the figure does not say %q", want)
		}
	}
}

// The effect may have the map of a measured difference.
func TestRehearseLike(t *testing.T) {
	dir, path := rehearsedStudy(t, rehearsedRecipe)
	like := writeFile(t, filepath.Join(dir, "like.tsv"), steady(1, 4))
	rows := cellsOf(t, must(t, "rehearse", path, "--of", "P8", "--like", like, "--people", "5", "--epochs", "3",
		"--rehearsals", "20", "--effect", "2uV"))
	if got := number(t, rows[3]["planted_uV"]); got != 1.5 {
		t.Errorf("a quarter at P7 makes %g µV of right minus left, want 1.5", got)
	}
}

// The recipe's own test is run on each rehearsal where that is asked for.
func TestRehearseWhole(t *testing.T) {
	_, path := rehearsedStudy(t, rehearsedRecipe+"compare: {name: gs.tsv, inputs: [go, stop], during: 100..200ms, "+
		"correct: largest, arrangements: 200}\n")
	rows := cellsOf(t, must(t, "rehearse", path, "--of", "P8", "--people", "8", "--epochs", "5", "--rehearsals", "20",
		"--effect", "200uV", "--whole"))
	if len(rows) != 6 || rows[3]["reading"] != "compare, largest over 100..200ms" || rows[3]["found"] != "20" ||
		number(t, rows[0]["share"]) > .3 {
		t.Errorf("%v", rows)
	}
}

func TestRehearseMistakes(t *testing.T) {
	dir, path := rehearsedStudy(t, rehearsedRecipe)
	zero := writeFile(t, filepath.Join(dir, "zero.tsv"), steady(1, 0))
	one := writeFile(t, filepath.Join(dir, "one.yaml"), strings.Replace(rehearsedRecipe, ", stop=stop", "", 1))
	strict := writeFile(t, filepath.Join(dir, "strict.yaml"), rehearsedRecipe+"  minimum: 500\n")
	for want, args := range map[string][]string{
		"needs one recipe":       {},
		"nowhere.yaml":           {"nowhere.yaml"},
		"averages one condition": {one},
		"nobody is left, since all lack recordings or break a rule": {strict},
		"--people 1: expected two or more":                          {path, "--people", "1"},
		"expected numbers from 1 on, such as 12,24":                 {path, "--epochs", "0"},
		"--rehearsals 3: expected 20 or more":                       {path, "--rehearsals", "3"},
		"--arrangements 3: expected 99 or more":                     {path, "--arrangements", "3"},
		"expected more than 0, such as 1uV":                         {path, "--effect", "0uV"},
		"--between-sd -1uV: expected 0 or more":                     {path, "--between-sd", "-1uV"},
		"the recipe has no rest, but go, stop":                      {path, "--conditions", "go,rest"},
		"--conditions go: expected two":                             {path, "--conditions", "go"},
		"--window soon: expected a range":                           {path, "--window", "soon"},
		"--of is missing":                                           {path, "--window", "10..20ms"},
		"Xz":                                                        {path, "--of", "Xz"},
		"F3":                                                        {path, "--of", "F3", "--window", "late"},
		"is 0 at P8: choose a site":                                 {path, "--of", "P8", "--like", zero},
		"a figure is drawn over two numbers of people":              {path, "--people", "5", "-o", filepath.Join(dir, "p.png")},
		"draws of epochs: expected at most":                         {path, "--people", "100000", "--epochs", "100000"},
		"has no test of compare, which --whole runs":                {path, "--whole"},
		"--dpi is for a figure":                                     {path, "--dpi", "600"},
	} {
		err := calotteFails(append([]string{"rehearse"}, args...)...)
		if !strings.Contains(err, want) || strings.Count(strings.TrimSpace(err), "\n") > 0 {
			t.Errorf("%v: %q, want %q", args, err, want)
		}
	}
}
