package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"gonum.org/v1/gonum/stat"

	"calotte/topo/erp/average"
)

// pilots writes averages of some people, random at every site and sample,
// combines them, and returns the grand average's table and the people's.
func pilots(t *testing.T, dir string, n int) (grand string, people []string) {
	t.Helper()
	rng := rand.New(rand.NewPCG(3, 4))
	args := []string{"combine"}
	for k := range n {
		path := writeFile(t, filepath.Join(dir, "people", fmt.Sprintf("sub-%02d_go_average.tsv", k+1)),
			averageTable(tableHeader,
				func(site, sample int) string { return fmt.Sprint(5 * rng.NormFloat64()) }))
		people, args = append(people, path), append(args, path)
	}
	must(t, append(args, "--name", "pilots", "-o", filepath.Join(dir, "grand"))...)
	return filepath.Join(dir, "grand", "pilots_go_average.tsv"), people
}

func valuesAt(t *testing.T, args ...string) []valueRow {
	t.Helper()
	var rows []valueRow
	if err := json.Unmarshal([]byte(must(t, append([]string{"values", "--format", "json"}, args...)...)),
		&rows); err != nil {
		t.Fatal(err)
	}
	return rows
}

// t between the electrodes is what each person's own map says there: mean over
// sd/√n of the people's values, recorded site or not.
func TestFieldOfT(t *testing.T) {
	dir := t.TempDir()
	grand, people := pilots(t, dir, 6)
	in := filepath.Join(dir, "people")
	for _, extra := range [][]string{nil, {"--reference", "Cz"}} {
		args := append([]string{"--at", "104ms,100..200ms", "--sites", "P7,CP1,F9,AF8"}, extra...)
		got := valuesAt(t, append([]string{grand, "--field", "t", "--in", in}, args...)...)
		var each [][]valueRow
		for _, p := range people {
			each = append(each, valuesAt(t, append([]string{p}, args...)...))
		}
		for i, row := range got {
			var values []float64
			for _, rows := range each {
				values = append(values, rows[i].Value)
			}
			mean, sd := stat.MeanStdDev(values, nil)
			if want := mean / (sd / math.Sqrt(6)); math.Abs(row.Value-want) > 1e-9*math.Abs(want) {
				t.Errorf("%v at %s, %v: %v, want %v", extra, row.Name, row.At, row.Value, want)
			}
		}
	}
	figure := filepath.Join(dir, "t.svg")
	must(t, "map", grand, "--field", "t", "--in", in, "--at", "100ms", "--limit", "5", "-o", figure)
	b, err := os.ReadFile(figure)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"5 degrees of freedom", "Uncorrected",
		"t, the mean potential over its standard error"} {
		if !bytes.Contains(bytes.ReplaceAll(b, []byte("\n"), []byte(" ")), []byte(want)) {
			t.Errorf("the figure does not say %q", want)
		}
	}
}

// For one person the epochs are what the average is the mean of.
func TestFieldOfTFromEpochs(t *testing.T) {
	dir := t.TempDir()
	rec := sessionFile{events: true, change: noisy}.write(t, filepath.Join(dir, "rec.edf"))
	must(t, "average", rec, "--condition", "go=go", "--epoch", "-100..300ms", "--save-epochs", "-o", dir)
	file := filepath.Join(dir, "rec_go_average.tsv")
	got := valuesAt(t, file, "--field", "t", "--at", "100ms")
	mean := valuesAt(t, file, "--at", "100ms")
	b, err := os.ReadFile(filepath.Join(dir, "rec_go_sem.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	sem, err := average.ReadTable(bytes.NewReader(b), average.Clock{})
	if err != nil {
		t.Fatal(err)
	}
	for i := range sem.Sites {
		if want := mean[i].Value / sem.Values[i][20]; math.Abs(sem.Times[20]-.1) > 1e-9 ||
			math.Abs(got[i].Value-want) > 1e-6*math.Abs(want) {
			t.Errorf("%s: %v, want %v", sem.Sites[i], got[i].Value, want)
		}
	}
}

// noisy makes the last digits of the samples differ from epoch to epoch.
func noisy(file []byte) []byte {
	const header, samples, records = 256 * (1 + 8 + 1), 8 * 100 * 2, 10
	rng := rand.New(rand.NewPCG(5, 6))
	for r := range records {
		record := file[header+r*(len(file)-header)/records:]
		for i := 0; i < samples; i += 2 {
			record[i] ^= byte(rng.IntN(32))
		}
	}
	return file
}

func TestFieldOfTMistakes(t *testing.T) {
	lost := func(t *testing.T, dir string) string {
		grand, people := pilots(t, dir, 3)
		if err := os.Remove(people[1]); err != nil {
			t.Fatal(err)
		}
		return grand
	}
	changed := func(t *testing.T, dir string) string {
		grand, people := pilots(t, dir, 3)
		writeFile(t, people[1], averageTable(tableHeader, wave))
		return grand
	}
	plain := table("own.tsv", averageTable(tableHeader, wave))
	for _, m := range []mistake{
		{"without epochs", plain, "map FILE --field t --at 100ms -o OUT.png", failed,
			[]string{"own.tsv", "--save-epochs"}},
		{"people elsewhere", lost, "map FILE --field t --at 100ms -o OUT.png", failed,
			[]string{"sub-02_go_average.tsv is not here", "--in"}},
		{"a person gone", lost, "map FILE --field t --in DIR/people --at 100ms -o OUT.png", failed,
			[]string{"sub-02_go_average.tsv is not here"}},
		{"a person changed", changed, "map FILE --field t --in DIR/people --at 100ms -o OUT.png", failed,
			[]string{"sub-02_go_average.tsv is not the file"}},
		{"a limit with a unit", plain, "map FILE --field t --at 100ms --limit 5uV -o OUT.png", usage,
			[]string{"--limit", "bare number"}},
		{"a folder without t", plain, "map FILE --in DIR --at 100ms -o OUT.png", usage,
			[]string{"--in", "--field t"}},
	} {
		t.Run(m.name, m.check)
	}
}
