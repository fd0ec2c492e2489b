package main

import (
	"context"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/topo/erp/average"
	"calotte/topo/provenance"
)

// averaged makes two averages, of the conditions go and stop, of each person.
func averaged(t *testing.T, people ...string) (dir string) {
	t.Helper()
	dir = t.TempDir()
	for i, name := range people {
		path := sessionFile{events: true, factor: float64(i + 1)}.write(t, filepath.Join(dir, name+"_eeg.edf"))
		must(t, "average", path, "--condition", "go=go", "--condition", "stop=stop", "--epoch", "-100..400ms",
			"-o",
			dir)
	}
	return dir
}

// Whatever was read stays, also with --force: tables, what lies beside them,
// and the files that a head is made of.
func TestForceNeverOverwritesWhatWasRead(t *testing.T) {
	dir := averaged(t, "sub-01", "sub-02")
	in := func(name string) string { return filepath.Join(dir, name) }
	head := in("h_head.json")
	must(t, "place", "--circumference", "560mm", "-o", head)
	scratch := t.TempDir()
	for _, c := range []struct {
		args []string
		read string // would be written to
	}{
		{[]string{"values", in("sub-01_go_average.tsv"), "--at", "100ms", "-o", in("sub-01_go_sem.tsv")},
			"sub-01_go_sem.tsv"},
		{[]string{"values", in("sub-01_go_average.tsv"), "--at", "100ms", "-o", in("sub-01_go_pairs.tsv")},
			"sub-01_go_pairs.tsv"},
		{[]string{"values", in("sub-01_go_average.tsv"), "--at", "100ms", "-o", in("sub-01_go_average.json")},
			"sub-01_go_average.json"},
		{[]string{"values", in("sub-01_go_average.tsv"), "--at", "100ms", "--head", head, "-o", head},
			"h_head.json"},
		{[]string{"values", in("sub-01_go_average.tsv"), "--at", "100ms", "--head", head, "-o",
			in("h_head.tsv")},
			"h_head.json"},
		{[]string{"combine", in("sub-01_go_average.tsv"), in("sub-02_go_average.tsv"), "--name", "sub-02", "-o",
			dir},
			"sub-02_go_average.tsv"},
		{[]string{"average", in("sub-01_eeg.edf"), "--condition", "go=go", "--repair", "Cz", "--head",
			linked(t, head, filepath.Join(scratch, "sub-01_go_average.json")), "-o", scratch},
			"sub-01_go_average.json"},
	} {
		before, err := os.ReadFile(in(c.read))
		if err != nil && !strings.Contains(strings.Join(c.args, " "), scratch) {
			t.Fatal(err)
		}
		_, stderr, code := calotte(append(c.args, "--force")...)
		if code != console.Failed || !strings.Contains(stderr, "is an input") {
			t.Errorf("%v: exit %d: %s", c.args, code, stderr)
		}
		if after, _ := os.ReadFile(in(c.read)); string(after) != string(before) {
			t.Errorf("%v: %s was written to", c.args, c.read)
		}
	}
}

// linked gives a file a second name.
func linked(t *testing.T, path, name string) string {
	t.Helper()
	if err := os.Link(path, name); err != nil {
		t.Skip("no hard links here")
	}
	return name
}

// Each result lists what it was made of, and no more.
func TestProvenanceOfCombinations(t *testing.T) {
	dir := averaged(t, "sub-01", "sub-02")
	tables, err := filepath.Glob(filepath.Join(dir, "*_average.tsv"))
	if err != nil || len(tables) != 4 {
		t.Fatalf("%v, %v", tables, err)
	}
	grand := filepath.Join(dir, "grand")
	must(t, append([]string{"combine", "-o", grand}, tables...)...)
	must(t, append([]string{"combine", "--difference", "go,stop", "-o", grand}, tables...)...)
	must(t, "combine", "--difference", "go,stop", "-o", grand, tables[0], tables[1])
	for name, want := range map[string]string{
		"group_go":   "sub-01_go_average.tsv sub-02_go_average.tsv",
		"group_stop": "sub-01_stop_average.tsv sub-02_stop_average.tsv",
		"group_go-stop": "sub-01_go_average.tsv sub-01_stop_average.tsv sub-02_go_average.tsv " +
			"sub-02_stop_average.tsv",
		"sub-01_go-stop": "sub-01_go_average.tsv sub-01_stop_average.tsv",
	} {
		a, _, err := archive.Load(filepath.Join(grand, name+"_average.tsv"), average.Clock{})
		if err != nil {
			t.Fatal(err)
		}
		var inputs []string
		for _, s := range a.Info.Provenance.Inputs {
			inputs = append(inputs, s.Name)
		}
		if got := strings.Join(inputs, " "); got != want {
			t.Errorf("%s: made from %q, want %q", name, got, want)
		}
	}
	for _, more := range [][]string{{"--name", "x"}, {"--weighted"}} {
		_, stderr, code := calotte(append([]string{"combine", "--difference", "go,stop", "-o",
			filepath.Join(dir, "x"),
			tables[0], tables[1]}, more...)...)
		if code != console.Misused || !strings.Contains(stderr, "is named sub-01") {
			t.Errorf("%v: exit %d: %s", more, code, stderr)
		}
	}
}

// The table of values has a file beside it that says what the numbers are; a
// JSON file holds both.
func TestValuesSayWhatTheyAre(t *testing.T) {
	dir := averaged(t, "sub-01")
	table := filepath.Join(dir, "sub-01_go_average.tsv")
	out := filepath.Join(dir, "v.tsv")
	must(t, "values", table, "--at", "100ms", "--sites", "T3,Cz", "-o", out)
	must(t, "values", table, "--at", "100ms", "--sites", "T3,Cz", "-o", filepath.Join(dir, "w.json"))
	text, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	if want := must(t, "values", table, "--at", "100ms", "--sites", "T3,Cz"); string(text) != want {
		t.Errorf("the file is %q, standard output %q", text, want)
	}
	if !strings.Contains(string(text), "\nT3\t") {
		t.Errorf("a site is not called as it was asked for: %s", text)
	}
	read := func(name string) (r valuesRecord) {
		b, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(b, &r); err != nil {
			t.Fatal(err)
		}
		return r
	}
	beside, whole := read("v.json"), read("w.json")
	if len(beside.Files) != 1 ||
		beside.Files[0] != (provenance.Source{Name: "v.tsv", SHA256: archive.Hash(text)}) ||
		beside.Values != nil {
		t.Errorf("%+v", beside)
	}
	if len(whole.Values) != 2 || whole.Values[0].Name != "T3" || whole.Files != nil {
		t.Errorf("%+v", whole)
	}
	for _, r := range []valuesRecord{beside, whole} {
		if r.Quantity != "potential" || r.Unit != "µV" || r.Reference != "as recorded" ||
			r.Positions != "a sphere of 560 mm, assumed" ||
			r.Provenance.Work != "values" || len(r.Provenance.Inputs) != 1 || len(r.Remarks) != 3 ||
			r.Remarks[0] != "Latencies chosen by the author." ||
			r.Remarks[2] != "Few epochs: 9, fewer than 15." {
			t.Errorf("%+v", r)
		}
	}
}

// An interrupt before the end leaves nothing behind.
func TestInterruptedFigureLeavesNothing(t *testing.T) {
	table := writeFile(t, filepath.Join(t.TempDir(), "own.tsv"), averageTable(tableHeader, wave))
	dir := t.TempDir()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	for _, args := range [][]string{
		{"map", table, "--at", "100ms", "-o", filepath.Join(dir, "map.svg")},
		{"values", table, "--at", "100ms", "-o", filepath.Join(dir, "values.tsv")},
	} {
		if code := console.Report(io.Discard,
			run(ctx, args, strings.NewReader(""), io.Discard, io.Discard)); code != console.Interrupted {
			t.Errorf("%s: exit %d", args[0], code)
		}
	}
	if left := listing(t, dir); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}
