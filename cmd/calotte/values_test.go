package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"calotte/cmd/internal/console"
)

// reference reads testdata/topo/spline.tsv, an independent spline in numpy: by
// site, the columns' numbers.
func reference(t *testing.T) (sites []string, columns map[string]map[string]float64) {
	t.Helper()
	file, err := os.Open("../../testdata/topo/spline.tsv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	r := csv.NewReader(file)
	r.Comma = '\t'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	columns = map[string]map[string]float64{}
	for _, row := range rows[1:] {
		sites = append(sites, row[0])
		columns[row[0]] = map[string]float64{}
		for i, cell := range row[1:] {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				v = math.NaN() // n/a: a site without an amplitude
			}
			columns[row[0]][rows[0][i+1]] = v
		}
	}
	return sites, columns
}

// Tables in, tables out: what values prints at every site of the 10-10 system
// is what the independent spline gives, whether the site was recorded or not.
func TestValuesAgreeWithIndependentSpline(t *testing.T) {
	sites, columns := reference(t)
	var header, line []string
	for _, s := range sites {
		if v := columns[s]["amplitude"]; !math.IsNaN(v) {
			header, line = append(header, s), append(line, fmt.Sprint(v))
		}
	}
	if len(header) != 64 {
		t.Fatalf("%d recorded sites in the reference, want 64", len(header))
	}
	row := strings.Join(line, "\t") + "\n"
	table := writeFile(t, filepath.Join(t.TempDir(), "own.tsv"),
		"time_ms\t"+strings.Join(header, "\t")+"\n0\t"+row+"4\t"+row+"8\t"+row)
	for _, c := range []struct {
		column string
		flags  []string
	}{
		{"potential3", []string{"--spline-order", "3"}},
		{"potential4", nil},
		{"potential6", []string{"--spline-order", "6"}},
		{"potential4s", []string{"--spline-smoothing", "1e-4"}},
		{"csd4", []string{"--field", "csd"}},
		{"csd5", []string{"--field", "csd", "--spline-order", "5"}},
	} {
		args := append([]string{"values", table, "--at", "4ms", "--sites", "10-10", "--circumference", "560mm",
			"--format", "json"}, c.flags...)
		var got []struct {
			Name  string
			Value float64
		}
		if err := json.Unmarshal([]byte(must(t, args...)), &got); err != nil {
			t.Fatal(err)
		}
		if len(got) != 89 {
			t.Errorf("%s: %d sites, want 89", c.column, len(got))
		}
		for _, g := range got {
			if want := columns[g.Name][c.column]; !(math.Abs(g.Value-want) <= 1e-3) {
				t.Errorf("%s at %s: got %v, want %v", c.column, g.Name, g.Value, want)
			}
		}
	}
	for _, text := range strings.Split(strings.TrimSpace(must(t, "values", table, "--at", "4ms", "--circumference",
		"560mm")), "\n")[1:] {
		f := strings.Split(text, "\t")
		v, err := strconv.ParseFloat(f[5], 64)
		if want := columns[f[0]]["amplitude"]; err != nil || math.Abs(v-want) > 1e-6 {
			t.Errorf("at the recorded site %s: got %s, want %v", f[0], f[5], want)
		}
	}
}

// The same numbers, whatever the processors.
func TestValuesOfAnyNumberOfJobs(t *testing.T) {
	table := writeFile(t, filepath.Join(t.TempDir(), "own.tsv"), averageTable(tableHeader, wave))
	one := must(t, "values", table, "--at", "33ms,100..200ms", "--sites", "10-5", "--jobs", "1")
	if four := must(t, "values", table, "--at", "33ms,100..200ms", "--sites", "10-5", "--jobs", "4"); four != one {
		t.Error("the table depends on the number of processors")
	}
}

// The handbook's example: 36 cm from nasion to inion put the midline sites at
// 10, 30, 50, 70 and 90 % of it (Jasper 1958; Klem et al. 1999).
func TestPlaceHandbookMidline(t *testing.T) {
	out := must(t, "place", "--circumference", "56cm", "--nasion-inion", "36cm", "--ear-ear", "34cm", "--sites",
		"Fpz,Fz,Cz,Pz,Oz")
	want := []string{"36.0000", "108.0000", "180.0000", "252.0000", "324.0000"}
	for i, line := range strings.Split(strings.TrimSpace(out), "\n")[1:] {
		f := strings.Split(line, "\t")
		if f[4] != "Nz-Cz-Iz" || f[5] != "Nz" || f[6] != want[i] {
			t.Errorf("%s: %v, want %s mm from Nz along Nz-Cz-Iz", f[0], f[4:], want[i])
		}
	}
}

// What place prints agrees to its last decimal with quadrature along explicit
// sections (testdata/layout/sites.tsv), on the sphere and on the ellipsoid.
func TestPlaceAgainstQuadrature(t *testing.T) {
	text, err := os.ReadFile("../../testdata/layout/sites.tsv")
	if err != nil {
		t.Fatal(err)
	}
	want := map[string][]string{}
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n")[1:] {
		f := strings.Split(line, "\t")
		want[f[0]+" "+f[1]] = f[2:]
	}
	for head, tape := range map[string][]string{
		"sphere":    {"--circumference", "560mm"},
		"ellipsoid": {"--circumference", "560mm", "--nasion-inion", "365mm", "--ear-ear", "340mm"},
	} {
		lines := strings.Split(strings.TrimSpace(must(t,
			append([]string{"place", "--sites", "10-10"}, tape...)...)),
			"\n")
		if len(lines) != 90 {
			t.Errorf("%s: %d lines, want a header and 89 sites", head, len(lines))
		}
		for _, line := range lines[1:] {
			f := strings.Split(line, "\t")
			for axis, w := range want[head+" "+f[0]] {
				got, err1 := strconv.ParseFloat(f[axis+1], 64)
				exact, err2 := strconv.ParseFloat(w, 64)
				if err1 != nil || err2 != nil || math.Abs(got-exact) > 0.5001e-4 {
					t.Errorf("%s, %s: printed %s, want %s", head, f[0], f[axis+1], w)
				}
			}
		}
	}
}

// place writes a set that place and map read.
func TestHeadFileRoundTrip(t *testing.T) {
	dir := t.TempDir()
	tape := []string{"--circumference", "560mm", "--nasion-inion", "365mm", "--ear-ear", "340mm"}
	must(t, append([]string{"place", "--sites", "10-10", "--wearer", "P014", "-o",
		filepath.Join(dir, "P014_electrodes.tsv")}, tape...)...)
	for _, ending := range []string{"_electrodes.tsv", "_coordsystem.json", "_head.json"} {
		if _, err := os.Stat(filepath.Join(dir, "P014"+ending)); err != nil {
			t.Error(err)
		}
	}
	head := filepath.Join(dir, "P014_head.json")
	if from, direct := must(t, "place", "--head", head, "--sites", "10-5"), must(t,
		append([]string{"place", "--sites", "10-5"}, tape...)...); from != direct {
		t.Error("the head file gives other sites than its tape measures")
	}
	table := writeFile(t, filepath.Join(dir, "own.tsv"), averageTable(tableHeader, wave))
	must(t, "map", table, "--at", "100ms", "--head", head, "-o", filepath.Join(dir, "map.svg"))
	_, stderr, code := calotte("place", "--head", head, "-o", filepath.Join(dir, "P014_head.json"), "--force")
	if code != console.Failed || !strings.Contains(stderr, "is an input") {
		t.Errorf("a head file written over itself: exit %d: %s", code, stderr)
	}
	must(t, "place", "--head", head, "--sites", "10-20", "-o", filepath.Join(dir, "P014_electrodes.tsv"), "--force")
}

// Declared windows count as if they had been given with --at, in the table and
// in what the JSON says of it.
func TestValuesAtDeclaredWindows(t *testing.T) {
	dir := t.TempDir()
	plain := writeFile(t, filepath.Join(dir, "own.tsv"), averageTable(tableHeader, wave))
	windows := writeFile(t, filepath.Join(dir, "w.tsv"), "name\twindow\nearly\t0..20ms\nlate\t20..40ms\n")
	must(t, "values", plain, "--at", "10ms", "--windows", windows, "-o", filepath.Join(dir, "declared.json"))
	text, err := os.ReadFile(filepath.Join(dir, "declared.json"))
	if err != nil {
		t.Fatal(err)
	}
	var record valuesRecord
	if err := json.Unmarshal(text, &record); err != nil {
		t.Fatal(err)
	}
	at := map[string]bool{}
	for _, row := range record.Values {
		at[row.At.String()] = true
	}
	if len(at) != 3 || record.Provenance.Settings["at"] != "10ms,0..20ms,20..40ms" {
		t.Errorf("values at %v, at %q as the JSON says", at, record.Provenance.Settings["at"])
	}
}

// Differences go behind the conditions that they are of, and a mistake is still
// said of the file that has it.
func TestValuesNameTheFileOfAMistake(t *testing.T) {
	dir := t.TempDir()
	lateral(t, dir, 2)
	known := filepath.Join(dir, "people", "sub-01_known_average.tsv")
	must(t, "combine", known, filepath.Join(dir, "people", "sub-01_novel_average.tsv"), "--difference",
		"known,novel",
		"-o", dir)
	short := writeFile(t, filepath.Join(dir, "short.tsv"),
		"time\tFz\tCz\tPz\tP7\tP8\tO1\tO2\n0\t1\t2\t3\t4\t5\t6\t7\n"+
			"0.01\t1\t2\t3\t4\t5\t6\t7\n")
	err := calotteFails("values", filepath.Join(dir, "sub-01_known-novel_average.tsv"), short, "--at", "200ms")
	if !strings.Contains(err, "short.tsv: latency 200 ms is outside") {
		t.Error(err)
	}
}
