package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"

	"calotte/cmd/internal/averages"
	"calotte/layout"
	"calotte/layout/head"
)

// lateral writes n people's averages of two conditions: noise, and in the first
// condition 4 µV more at P8 than at P7 from 100 to 200 ms. It returns both
// grand averages.
func lateral(t *testing.T, dir string, n int) (known, novel string) {
	t.Helper()
	const header = "time\tFz\tCz\tPz\tP7\tP8\tO1\tO2"
	random := rand.New(rand.NewPCG(5, 6))
	for k, condition := range []string{"known", "novel"} {
		args := []string{"combine"}
		for p := range n {
			rows := header
			for i := range 51 {
				at := float64(i)*.01 - .1
				rows += fmt.Sprintf("\n%.2f", at)
				for site := range 7 {
					v := random.NormFloat64()
					if k == 0 && site == 4 && at > .095 && at < .205 {
						v -= 4
					}
					rows += fmt.Sprintf("\t%.6f", v)
				}
			}
			args = append(args, writeFile(t,
				filepath.Join(dir, "people", fmt.Sprintf("sub-%02d_%s_average.tsv", p+1, condition)),
				rows+"\n"))
		}
		must(t, append(args, "--name", "pilots", "-o", filepath.Join(dir, "grand"))...)
	}
	return filepath.Join(dir, "grand", "pilots_known_average.tsv"), filepath.Join(dir, "grand",
		"pilots_novel_average.tsv")
}

// cellsOf reads a table of the standard output, a row by its columns' names.
func cellsOf(t *testing.T, text string) []map[string]string {
	t.Helper()
	lines := strings.Split(strings.TrimSpace(text), "\n")
	columns := strings.Split(lines[0], "\t")
	var rows []map[string]string
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, cell := range strings.Split(line, "\t") {
			row[columns[i]] = cell
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// What asymmetry says of a pair is what the people's own values say: their
// mean, its error, its interval by t (2.262157 for nine degrees of freedom in
// any handbook).
func TestAsymmetryOfPeople(t *testing.T) {
	dir := t.TempDir()
	known, _ := lateral(t, dir, 10)
	in := filepath.Join(dir, "people")
	out := filepath.Join(dir, "a.tsv")
	said := must(t, "asymmetry", known, "--at", "100..200ms", "--in", in, "-o", out)
	text, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	rows := cellsOf(t, string(text))
	if len(rows) != 2 || rows[0]["left"] != "P7" || rows[1]["right"] != "O2" {
		t.Fatalf("%v", rows)
	}
	var differences []float64
	for k := range 10 {
		values := valuesAt(t, filepath.Join(in, fmt.Sprintf("sub-%02d_known_average.tsv", k+1)), "--at",
			"100..200ms",
			"--sites", "P7,P8")
		differences = append(differences, values[1].Value-values[0].Value)
	}
	mean, sd := stat.MeanStdDev(differences, nil)
	half := 2.262157 * sd / math.Sqrt(10)
	for column, want := range map[string]float64{
		"right_minus_left_uV": mean, "sem": sd / math.Sqrt(10), "low": mean - half, "high": mean + half,
		"p":         2. / 1024,
		"same_sign": 1,
	} {
		if got := number(t, rows[0][column]); math.Abs(got-want) > 1e-4 {
			t.Errorf("%s is %g, want %g", column, got, want)
		}
	}
	for _, want := range []string{"P7–P8", "10 people", "p* 0.00", "stronger on the right",
		"A cap 5 mm to one side",
		"all sign flips of 10 people", "smallest p they allow is 0.002",
		"need not be the side that is active"} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is not said:\n%s", want, said)
		}
	}
	var record averages.TableRecord
	if text, err = os.ReadFile(filepath.Join(dir, "a.json")); err == nil {
		err = json.Unmarshal(text, &record)
	}
	if err != nil || record.Provenance.Work != "asymmetry" || len(record.Files) != 1 {
		t.Errorf("%+v, %v", record, err)
	}
	if said := must(t, "origin", out, "--redo", "--in", filepath.Join(dir, "grand"), "--in",
		in); !strings.Contains(said, "the same bytes") {
		t.Errorf("done again: %s", said)
	}
}

// Contralateral minus ipsilateral by hand, from the values of both conditions;
// what a cap check found is undone; a skull defect in the head file is told.
func TestContralateral(t *testing.T) {
	dir := t.TempDir()
	known, novel := lateral(t, dir, 6)
	in := filepath.Join(dir, "people")
	row := cellsOf(t, must(t, "asymmetry", "--contralateral", known, novel, "--in", in, "--at", "150ms", "--of",
		"P7"))[0]
	a := valuesAt(t, known, "--at", "150ms", "--sites", "P7,P8")
	b := valuesAt(t, novel, "--at", "150ms", "--sites", "P7,P8")
	contra, ipsi := (a[1].Value+b[0].Value)/2, (a[0].Value+b[1].Value)/2
	for column, want := range map[string]float64{
		"contralateral_uV": contra, "ipsilateral_uV": ipsi, "contralateral_minus_ipsilateral_uV": contra - ipsi,
		"n": 6,
	} {
		if got := number(t, row[column]); math.Abs(got-want) > 1e-4 {
			t.Errorf("%s is %g, want %g", column, got, want)
		}
	}
	check := writeFile(t, filepath.Join(dir, "check.json"),
		`{"turn":{"pitch":{"degrees":0},"roll":{"degrees":-3,"known":true},"yaw":{"degrees":0}}}`)
	plain := cellsOf(t, must(t, "asymmetry", known, "--in", in, "--at", "150ms", "--of", "P7", "--capcheck",
		check))[0]
	// A roll of −3° slides Cz to the left by 3° · 89.1 mm, 4.67 mm; undoing
	// it goes the other way.
	if got, want := number(t, plain["change_by_capcheck"]),
		-number(t, plain["side_5mm"])*4.67/5; math.Abs(got-want) > .15*math.Abs(want) {
		t.Errorf("undoing the turn changes %g, want about %g", got, want)
	}
	if err := calotteFails("asymmetry", known, "--at", "150ms", "--in", in, "--capcheck",
		filepath.Join(in, "sub-01_known_average.tsv")); !strings.Contains(err, "capcheck --format json") {
		t.Errorf("a table as cap check: %q", err)
	}
	if got := head.OpenSkull([]head.Note{{Kind: head.Scar},
		{Kind: head.SkullDefect, Side: layout.LeftSide,
			Place: "behind the ear"}}); got != "skull defect left behind the ear" {
		t.Errorf("%q", got)
	}
	if err := calotteFails("asymmetry", "--contralateral", known, "--at", "150ms", "--in",
		in); !strings.Contains(err,
		"two averages") {
		t.Errorf("%q", err)
	}
}

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
	for _, rule := range []string{"largest", "fdr"} {
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

func TestDecideMistakes(t *testing.T) {
	plain := table("sub-01_go_average.tsv", averageTable(tableHeader, wave))
	for _, m := range []mistake{
		{"no latency", plain, "asymmetry FILE", usage, []string{"--at"}},
		{"no pair", table("own.tsv",
			"time\tFz\tCz\tPz\tOz\n0.09\t1\t2\t3\t5\n0.1\t1\t2\t3\t4\n0.11\t1\t2\t3\t4\n0.12\t1\t2\t3\t4\n"),
			"asymmetry FILE --at 100ms", failed, []string{"mirrored", "P7 and P8"}},
		{"a site without a mirror", table("own.tsv", averageTable(tableHeader, wave)),
			"asymmetry FILE --at 100ms --of Cz", failed, []string{"Cz", "no mirrored site"}},
		{"a pair twice", table("own.tsv", averageTable(tableHeader, wave)),
			"asymmetry FILE --at 100ms --of P7,P8",
			usage, []string{"twice"}},
		{"a site that is not there", table("own.tsv", averageTable(tableHeader, wave)),
			"asymmetry FILE --at 100ms --of O1", failed, []string{"no O1"}},
		{"unknown ending", plain, "asymmetry FILE --at 100ms -o OUT.bmp", usage, []string{"bmp"}},
		{"few arrangements", plain, "asymmetry FILE --at 100ms --arrangements 3", usage,
			[]string{"--arrangements 3"}},
		{"one average", plain, "compare FILE", usage, []string{"two averages"}},
		{"one condition", plain, "compare FILE DIR/missing.tsv", failed, []string{"missing.tsv"}},
		{"correction", plain, "compare FILE FILE --correct all", usage, []string{"clusters, largest or fdr"}},
		{"level", plain, "compare FILE FILE --level 2", usage, []string{"--level 2"}},
	} {
		m.check(t)
	}
	dir := t.TempDir()
	known, novel := lateral(t, dir, 3)
	in := filepath.Join(dir, "people")
	person := func(k int, condition string) string {
		return filepath.Join(in, fmt.Sprintf("sub-%02d_%s_average.tsv", k, condition))
	}
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"compare", person(1, "known"), person(2, "known"), person(1, "novel")}, "without a partner"},
		{[]string{"compare", person(1, "known"), person(1, "novel")}, "two or more"},
		{[]string{"compare", person(1, "known"), person(2, "known")}, "there are 1: known (2)"},
		{[]string{"compare", known, novel}, "give its folder by --in"},
		{[]string{"compare", known, novel, "--in", in, "--during", "900..950ms"}, "holds no sample"},
		{[]string{"compare", known, novel, "--in", in, "-o", filepath.Join(dir, "x.bmp")}, ".png"},
		{[]string{"compare", known, novel, "--in", in, "--dpi", "600"}, "is for a figure"},
		{[]string{"asymmetry", known, novel, "--in", in, "--at", "150ms", "-o", filepath.Join(dir, "x.png")},
			"one average"},
		{[]string{"asymmetry", known, "--in", in, "--at", "150ms,160ms", "-o", filepath.Join(dir, "x.png")},
			"one latency"},
	} {
		if err := calotteFails(c.args...); !strings.Contains(err, c.want) {
			t.Errorf("%q: %q does not say %q", c.args, err, c.want)
		}
	}
}

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
		if left[0]["mean_se"] != "NA" { // its people are not at hand
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
	if len(rows) < 2 || whole["n"] != strconv.Itoa(len(rows)) ||
		math.Abs(sum/float64(len(rows))-number(t, whole["mean"])) > 1e-4 {
		t.Errorf("%d epochs of mean %g, the average says %v", len(rows), sum/float64(len(rows)), whole)
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
