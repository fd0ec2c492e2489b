package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The planted difference is found, at the site and time where it is; marks go
// to a map.
func TestCompareFindsThePlanted(t *testing.T) {
	dir := t.TempDir()
	known, novel := lateral(t, dir, 10)
	in, out := filepath.Join(dir, "people"), filepath.Join(dir, "kn.tsv")
	said := must(t, "compare", known, novel, "--in", in, "-o", out)
	text, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	rows := cellsOf(t, string(text))
	if first := rows[0]; first["sign"] != "negative" || first["at_site"] != "P8" || number(t, first["p"]) > .01 ||
		!strings.Contains(first["sites"], "P8") {
		t.Errorf("%v", first)
	}
	for _, want := range []string{"matched by label: sub-01, sub-02", "known and novel differ", "all arrangements",
		"its extent is not tested"} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is not said:\n%s", want, said)
		}
	}
	marks := filepath.Join(dir, "kn_marks.tsv")
	figure := filepath.Join(dir, "t.svg")
	must(t, "map", known, "--at", "150ms", "--mark", marks, "-o", figure)
	if text, err = os.ReadFile(figure); err != nil ||
		!strings.Contains(plainText(string(text)), "in a cluster of the test, p* 0.00") {
		t.Errorf("%v: the marks are not said to come from a test", err)
	}
	picture := filepath.Join(dir, "t.pdf")
	must(t, "compare", known, novel, "--in", in, "-o", picture, "--source-data", filepath.Join(dir, "numbers"))
	if names := namesIn(t, filepath.Join(dir, "numbers")); len(names) != 2 || names[0] != "t_clusters.tsv" {
		t.Errorf("%q", names)
	}
	if said := must(t, "origin", picture, "--redo", "--in", filepath.Join(dir, "grand"), "--in",
		in); !strings.Contains(said, "the same bytes") {
		t.Errorf("done again: %s", said)
	}
	writeFile(t, marks, "site\tfrom\tto\tcluster\tp\nCz\t0\t1\t1\t0.001\n")
	if err := calotteFails("map", known, "--at", "150ms", "--mark", marks, "-o", figure,
		"--force"); !strings.Contains(err, "has changed since compare wrote it") {
		t.Errorf("changed marks: %q", err)
	}
	for _, rule := range []string{"largest", "fdr", "enhanced"} {
		points := cellsOf(t, must(t, "compare", known, novel, "--in", in, "--during", "50..250ms", "--correct",
			rule))
		if points[0]["at_site"] != "P8" || points[0]["sign"] != "negative" || number(t, points[0]["p"]) > .05 {
			t.Errorf("%s: %v", rule, points[0])
		}
	}
	// The same for people given one by one, and for one processor.
	var people []string
	for _, condition := range []string{"known", "novel"} {
		for k := range 10 {
			people = append(people, filepath.Join(in,
				fmt.Sprintf("sub-%02d_%s_average.tsv", k+1, condition)))
		}
	}
	one := must(t, append([]string{"compare", "--jobs", "1"}, people...)...)
	if !bytes.Contains([]byte(one), text[:0]) || cellsOf(t, one)[0]["p"] != rows[0]["p"] {
		t.Errorf("people one by one:\n%s", one)
	}
}

// Two groups of different people are exchanged, and people with other sites are
// refused or tested at those that all have.
func TestCompareGroups(t *testing.T) {
	dir := t.TempDir()
	lateral(t, dir, 12)
	person := func(k int, condition string) string {
		return filepath.Join(dir, "people", fmt.Sprintf("sub-%02d_%s_average.tsv", k, condition))
	}
	first, second := []string{"combine", "--name", "first", "-o", dir}, []string{"combine", "--name", "second",
		"-o",
		dir}
	var mixed []string
	for k := range 6 {
		first, second = append(first, person(k+1, "known")), append(second, person(k+7, "known"))
		mixed = append(mixed, person(k+1, "known"), person(k+7, "novel"))
	}
	must(t, first...)
	must(t, second...)
	said := must(t, "compare", filepath.Join(dir, "first_known_average.tsv"),
		filepath.Join(dir, "second_known_average.tsv"), "--in", filepath.Join(dir, "people"), "-o",
		filepath.Join(dir, "g.tsv"))
	// 2 of 924
	for _, want := range []string{"two groups of 6 and 6 people", "all arrangements",
		"smallest p they allow is 0.0022",
		"does not show"} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is not said:\n%s", want, said)
		}
	}
	said = must(t, append([]string{"compare", "-o", filepath.Join(dir, "m.tsv")}, mixed...)...)
	if !strings.Contains(said, "two groups") || !strings.Contains(said, "known and novel differ") {
		t.Errorf("two conditions of different people:\n%s", said)
	}
	text, err := os.ReadFile(person(1, "known"))
	if err != nil {
		t.Fatal(err)
	}
	writeFile(t, person(1, "known"), strings.Replace(string(text), "O2", "Oz", 1))
	if err := calotteFails(append([]string{"compare"}, mixed...)...); !strings.Contains(err, "lacks O2") ||
		!strings.Contains(err, "--shared") {
		t.Errorf("other sites: %q", err)
	}
	if said := must(t, append([]string{"compare", "--shared", "-o", filepath.Join(dir, "s.tsv")},
		mixed...)...); !strings.Contains(said, "over 6 sites") {
		t.Errorf("shared sites:\n%s", said)
	}
}

// Without a planted difference nothing is marked, and marks of an earlier run
// go.
func TestCompareWithoutADifference(t *testing.T) {
	dir := t.TempDir()
	known, novel := lateral(t, dir, 6)
	in, out := filepath.Join(dir, "people"), filepath.Join(dir, "kn.tsv")
	must(t, "compare", known, novel, "--in", in, "-o", out)
	said := must(t, "compare", known, novel, "--in", in, "--during", "300..400ms", "-o", out, "--force")
	if _, err := os.Stat(filepath.Join(dir, "kn_marks.tsv")); !strings.Contains(said, "does not show") ||
		err == nil {
		t.Errorf("%v\n%s", err, said)
	}
}

// A reference is that of the people behind grand averages, too.
func TestCompareInAnotherReference(t *testing.T) {
	dir := t.TempDir()
	known, novel := lateral(t, dir, 8)
	people := func(condition string) (paths []string) {
		for k := range 8 {
			paths = append(paths, filepath.Join(dir, "people",
				fmt.Sprintf("sub-%02d_%s_average.tsv", k+1, condition)))
		}
		return paths
	}
	in := filepath.Join(dir, "people")
	for _, reference := range []string{"recorded", "Fz"} {
		of := []string{"compare", "--reference", reference, "--during", "50..250ms"}
		grand := must(t, append(of, known, novel, "--in", in)...)
		each := must(t, append(of, append(people("known"), people("novel")...)...)...)
		if grand != each {
			t.Errorf("%s: of the grand averages\n%s\nof the people\n%s", reference, grand, each)
		}
	}
	if must(t, "compare", known, novel, "--in", in, "--during", "50..250ms") ==
		must(t, "compare", known, novel, "--in", in, "--during", "50..250ms", "--reference", "Fz") {
		t.Error("the reference changes nothing")
	}
}
