package main

import (
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
	// with two pairs the joint interval is wider, about the same value
	low, high := number(t, rows[0]["joint_low"]), number(t, rows[0]["joint_high"])
	if wider := (high - low) / (2 * half); wider < 1 || wider > 1.6 || math.Abs((low+high)/2-mean) > 1e-4 {
		t.Errorf("jointly from %g to %g, by itself from %g to %g", low, high, mean-half, mean+half)
	}
	alone := cellsOf(t, must(t, "asymmetry", known, "--at", "100..200ms", "--in", in, "--of", "P7"))
	if alone[0]["joint_low"] != "n/a" {
		t.Errorf("one pair, jointly from %s", alone[0]["joint_low"])
	}
	for _, want := range []string{"P7–P8", "10 people", "p* 0.00", "all pairs at once [", "stronger on the right",
		"The smallest turn of all caps alike",
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
	if err != nil || record.Provenance.Work != "asymmetry" || len(record.Files) != 1 || len(record.Words) != 2 ||
		!strings.Contains(record.Words[0], "at P7–P8 the ") {
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
		{"placement without a unit", plain, "asymmetry FILE --at 100ms --placement 5", usage,
			[]string{"--placement", "5", "or checked"}},
		{"placement too far", plain, "asymmetry FILE --at 100ms --placement 99mm", usage,
			[]string{"at most 30mm", "such as 5mm"}},
		{"placement twice", plain, "asymmetry FILE --at 100ms --placement 5mm,6mm", usage, []string{"once"}},
		{"shared placement alone", plain, "asymmetry FILE --at 100ms --placement-shared 2mm", usage,
			[]string{"add --placement"}},
		{"effect without a unit", plain, "asymmetry FILE --at 100ms --effect 1", usage,
			[]string{"--effect", "or noise"}},
		{"effect of nothing", plain, "asymmetry FILE --at 100ms --effect 0uV", usage, []string{"more than 0"}},
		{"effect beside a noise that is not known", plain, "asymmetry FILE --at 100ms --effect noise", failed,
			[]string{"sub-01_go_average.tsv", "--effect 1uV"}},
		{"effect of stimuli on two sides", plain,
			"asymmetry FILE DIR/b.tsv --at 100ms --contralateral --effect 1uV",
			usage, []string{"--contralateral"}},
		{"placement of a current density", plain, "values FILE --at 100ms --field csd --placement 5mm", usage,
			[]string{"csd", "--field error"}},
		{"a head without placement", plain, "components FILE --window 0..100ms --circumference 560mm", usage,
			[]string{"--circumference is for --placement"}},
		{"placement of epochs", plain, "components FILE --window 0..100ms --each-epoch --placement 5mm", usage,
			[]string{"--each-epoch"}},
		{"no cap check", plain, "components FILE --window 0..100ms --placement checked", failed,
			[]string{"sub-01_go_average.tsv", "no cap check of", "_capcheck.json", "checked,5mm"}},
		{"one average", plain, "compare FILE", usage, []string{"two averages"}},
		{"one condition", plain, "compare FILE DIR/missing.tsv", failed, []string{"missing.tsv"}},
		{"correction", plain, "compare FILE FILE --correct all", usage, []string{"clusters, largest, fdr or enhanced"}},
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
	gone := filepath.Join(t.TempDir(), "group", "pilots_known_average.tsv") // away from its people
	for _, name := range namesIn(t, filepath.Dir(known)) {
		writeFile(t, filepath.Join(filepath.Dir(gone), name), readText(t, filepath.Join(filepath.Dir(known), name)))
	}
	said := must(t, "components", gone, "--window", "100..200ms", "--of", "P8", "-o", filepath.Join(dir, "c.tsv"))
	if !strings.Contains(said, "Standard errors are NA: sub-01_known_average.tsv is not here") {
		t.Error(said)
	}
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"compare", person(1, "known"), person(2, "known"), person(1, "novel")}, "without a partner"},
		{[]string{"compare", person(1, "known"), person(1, "novel")}, "two or more"},
		{[]string{"compare", person(1, "known"), person(2, "known")}, "there are 1: known (2)"},
		{[]string{"compare", gone, novel}, "give its folder by --in"},
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
