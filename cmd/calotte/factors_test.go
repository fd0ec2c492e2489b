package main

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"
)

// grandOf combines people of the files that lateral writes into a grand average
// of a condition.
func grandOf(t *testing.T, dir, name, condition string, people ...int) string {
	t.Helper()
	args := []string{"combine", "--name", name, "-o", filepath.Join(dir, name)}
	for _, p := range people {
		args = append(args, filepath.Join(dir, "people", fmt.Sprintf("sub-%02d_%s_average.tsv", p, condition)))
	}
	must(t, args...)
	return filepath.Join(dir, name, name+"_"+condition+"_average.tsv")
}

// The interaction of side and condition is what asymmetry says of the
// difference of the conditions, by the same flips; it is told in words, done
// again with the same bytes, and has its place in the methods.
func TestSidesAndConditions(t *testing.T) {
	dir := t.TempDir()
	known, novel := lateral(t, dir, 8)
	in := filepath.Join(dir, "people")
	out := filepath.Join(dir, "crossed.tsv")
	said := must(t, "components", known, novel, "--in", in, "--window", "late=100..200ms", "--of", "P7",
		"--difference", "conditions,sides", "-o", out)
	rows := cellsOf(t, readText(t, out))
	if len(rows) != 66 || rows[0]["effect"] != "cell" || rows[0]["p"] != "NA" || rows[0]["n"] != "8" {
		t.Fatalf("%d rows, %v", len(rows), rows[0])
	}
	got := rows[10]
	if got["effect"] != "interaction" || got["compared"] != "sides,conditions" || got["score"] != "mean" ||
		got["first"] != "P8 minus P7" || got["second"] != "known minus novel" || got["note"] != "NA" {
		t.Fatalf("%v", got)
	}
	var people []string
	for k := range 8 {
		for _, condition := range []string{"known", "novel"} {
			people = append(people,
				filepath.Join(in, fmt.Sprintf("sub-%02d_%s_average.tsv", k+1, condition)))
		}
	}
	must(t, append([]string{"combine", "--difference", "known,novel", "--name", "apart", "-o",
		filepath.Join(dir, "apart")}, people...)...)
	want := cellsOf(t, must(t, "asymmetry", filepath.Join(dir, "apart", "apart_known-novel_average.tsv"), "--in",
		in, "--at", "100..200ms", "--of", "P7"))[0]
	for column, of := range map[string]string{"value": "right_minus_left_uV", "se": "sem", "low": "low",
		"high": "high", "p": "p"} {
		if a, b := number(t, got[column]), number(t, want[of]); math.Abs(a-b) > 6e-5 {
			t.Errorf("%s is %g, asymmetry has %g", column, a, b)
		}
	}
	for _, line := range []string{
		"late mean, µV   known", "P8 minus P7, known minus novel   ",
		"late, mean: the difference known minus novel is more negative at P8 than at P7 by ",
		"all sign flips of 8 people; the smallest p they allow is 0.0078",
	} {
		if !strings.Contains(said, line) {
			t.Errorf("%q is not said:\n%s", line, said)
		}
	}
	grand := filepath.Join(dir, "grand")
	if said := must(t, "origin", out, "--redo", "--in", grand, "--in", in); !strings.Contains(said,
		"the same bytes") {
		t.Errorf("done again: %s", said)
	}
	if text := must(t, "methods", out, "--in", grand); !strings.Contains(text,
		"Two factors (sides and conditions) were crossed") {
		t.Error(text)
	}
}

// Who is in one condition only is named and left out.
func TestSitesAndConditionsOfSome(t *testing.T) {
	dir := t.TempDir()
	lateral(t, dir, 6)
	known := grandOf(t, dir, "pilots", "known", 1, 2, 3, 4, 5)
	novel := grandOf(t, dir, "pilots", "novel", 1, 2, 3, 4, 6)
	stdout, stderr, code := calotte("components", known, novel, "--in", filepath.Join(dir, "people"), "--window",
		"late=100..200ms", "--pool", "right=P8,O2", "--of", "Cz", "--difference", "sites,conditions")
	rows := cellsOf(t, stdout)
	if code != 0 || len(rows) != 66 || rows[10]["n"] != "4" || rows[10]["first"] != "Cz minus right" ||
		rows[10]["note"] != "left out: sub-05 (not in novel); sub-06 (not in known)" {
		t.Errorf("exit %d: %v\n%s", code, rows[10], stderr)
	}
	if !strings.Contains(stderr, "left out: sub-05 (not in novel), sub-06 (not in known)\n") {
		t.Errorf("nobody is named:\n%s", stderr)
	}
}

// Conditions differ by 4 µV more in the group that has known as it is than in
// one whose known is their novel.
func TestConditionsAndGroups(t *testing.T) {
	dir := t.TempDir()
	lateral(t, dir, 9)
	args := []string{"components", "--in", filepath.Join(dir, "people"), "--window", "late=100..200ms", "--of",
		"P8", "--difference", "conditions,groups"}
	early := []string{grandOf(t, dir, "early", "known", 1, 2, 3, 4), grandOf(t, dir, "early", "novel", 1, 2, 3, 4)}
	late := []string{grandOf(t, dir, "late", "known", 5, 6, 7, 8, 9),
		grandOf(t, dir, "late", "novel", 5, 6, 7, 8, 9)}
	stdout, stderr, code := calotte(append(append(args, early...), late...)...)
	rows := cellsOf(t, stdout)
	if code != 0 || len(rows) != 66 || rows[10]["n"] != "4" || rows[10]["n_other"] != "5" ||
		rows[10]["second"] != "early minus late" || rows[10]["name"] != "early, late" || rows[7]["n"] != "5" ||
		rows[7]["n_other"] != "NA" {
		t.Fatalf("exit %d: %s%s", code, stdout, stderr)
	}
	simple := number(t, rows[6]["value"]) - number(t, rows[7]["value"])
	if got := number(t, rows[10]["value"]); math.Abs(got-simple) > 1e-6 {
		t.Errorf("the interaction is %g, the difference of simple effects %g", got, simple)
	}
	if !strings.Contains(stderr, "late at P8, mean: the difference known minus novel is not shown to be") ||
		!strings.Contains(stderr, "all exchanges of 4 and 5 people") {
		t.Error(stderr)
	}
	both := grandOf(t, dir, "shared", "known", 4, 5)
	bothNovel := grandOf(t, dir, "shared", "novel", 4, 5)
	pair := filepath.Join(dir, "people", "sub-01_known_average.tsv")
	for want, more := range map[string][]string{
		"early and shared share sub-04: expected groups of different people": append(early, both, bothNovel),
		"--difference conditions,groups takes four grand averages, of the same two conditions in two groups " +
			"of different names, and there are 3: known of early; novel of early; known of late": append(
			early, late[0]),
		"is no grand average": append(early, pair),
	} {
		if err := calotteFails(append(args, more...)...); !strings.Contains(err, want) {
			t.Errorf("%q does not say %q", err, want)
		}
	}
}

// What two factors cannot be made of is told in a line.
func TestTwoFactorsMistakes(t *testing.T) {
	dir := t.TempDir()
	known, novel := lateral(t, dir, 4)
	args := []string{"components", "--in", filepath.Join(dir, "people"), "--window", "late=100..200ms",
		"--difference"}
	for k := range 4 {
		path := filepath.Join(dir, "people", fmt.Sprintf("sub-%02d_odd_average.tsv", k+1))
		writeFile(t, path, readText(t, strings.Replace(path, "odd", "novel", 1))+"\n")
	}
	odd := grandOf(t, dir, "pilots", "odd", 1, 2, 3, 4)
	first, others := grandOf(t, dir, "first", "known", 1, 2), grandOf(t, dir, "second", "novel", 3, 4)
	for want, more := range map[string][]string{
		"--difference sides,conditions takes two grand averages, of two conditions of the same people, and " +
			"there are 3: known of pilots; novel of pilots; odd of pilots": {"sides,conditions", known,
			novel, odd},
		"Cz has no mirrored site among them": {"sides,conditions", known, novel, "--of", "Cz"},
		"--difference sites,conditions takes two sites or pools, not 1": {"sites,conditions", known, novel,
			"--of", "Cz"},
		"people with all cells of first: 0, expected two or more; left out: sub-01": {"sides,conditions",
			first, others},
		"--difference sides,groups takes two grand averages, of one condition": {"sides,groups", known, novel},
	} {
		if err := calotteFails(append(args, more...)...); !strings.Contains(err, want) {
			t.Errorf("%q does not say %q", err, want)
		}
	}
}
