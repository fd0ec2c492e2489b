package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Participants with different caps are refused as they are, and combined onto
// common sites.
func TestCombineOnto(t *testing.T) {
	dir := t.TempDir()
	one := writeFile(t, filepath.Join(dir, "sub-01_go_average.tsv"), averageTable(tableHeader, wave))
	other := "time\tFz\tCz\tPz\tOz\tF3\tF4\tP3\tP4"
	two := writeFile(t, filepath.Join(dir, "sub-02_go_average.tsv"), averageTable(other, wave))
	out := filepath.Join(dir, "grand")
	if _, stderr, code := calotte("combine", one, two, "-o", out); code != failed ||
		!strings.Contains(stderr, "onto") {
		t.Errorf("exit %d: %s", code, stderr)
	}
	stdout, stderr, code := calotte("combine", one, two, "--onto", "Fz,Cz,Pz,C3,C4", "--reference", "average", "-o",
		out)
	if code != 0 {
		t.Fatalf("exit %d: %s%s", code, stdout, stderr)
	}
	b, err := os.ReadFile(filepath.Join(out, "group_go_average.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	if header, _, _ := strings.Cut(string(b), "\n"); header != "time\tFz\tCz\tPz\tC3\tC4" {
		t.Errorf("header %q", header)
	}
	b, err = os.ReadFile(filepath.Join(out, "group_go_average.json"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"reference": "average of 5 sites"`,
		"brought onto 5 sites by the spherical spline of order 4 through 8 sites", `"onto": "Fz,Cz,Pz,C3,C4"`} {
		if !strings.Contains(string(b), want) {
			t.Errorf("the JSON does not say %q", want)
		}
	}
}

// Electrodes that were measured on one participant are found again by their
// name.
func TestRedoOfMeasuredPositions(t *testing.T) {
	dir, out := t.TempDir(), t.TempDir()
	one := writeFile(t, filepath.Join(dir, "sub-01_go_average.tsv"), averageTable(tableHeader, wave))
	two := writeFile(t, filepath.Join(dir, "sub-02_go_average.tsv"),
		averageTable(tableHeader, func(site, sample int) string { return wave(site+1, sample) }))
	positions := filepath.Join(dir, "caps", "a=b_electrodes.tsv")
	must(t, "place", "--circumference", "560mm", "--nasion-inion", "36cm", "--ear-ear", "34.5cm", "--sites",
		strings.Join(eightSites, ","), "-o", positions)
	must(t, "combine", one, two, "--onto", "Fz,Cz,Pz,C3,C4", "--electrodes", "sub-01="+positions, "--name",
		"pilots",
		"-o", out)
	table := filepath.Join(out, "pilots_go_average.tsv")
	if text := readText(t, filepath.Join(out, "pilots_go_average.json")); !strings.Contains(text,
		`"--electrodes=sub-01=a=b_electrodes.tsv"`) {
		t.Errorf("the electrodes are not recorded:\n%s", text)
	}
	if said := must(t, "origin", "--redo", table, "--in", dir, "--in",
		filepath.Dir(positions)); !strings.Contains(said,
		"the same bytes") {
		t.Error(said)
	}
}

func TestOntoMistakes(t *testing.T) {
	plain := table("own.tsv", averageTable(tableHeader, wave))
	for _, m := range []mistake{
		{"onto an unknown site", plain, "combine FILE --onto P77 -o OUT", usage, []string{"P77"}},
		{"a head without onto", plain, "combine FILE --circumference 560mm -o OUT", usage,
			[]string{"--circumference", "--onto"}},
		{"positions without onto", plain, "combine FILE --electrodes x.tsv -o OUT", usage,
			[]string{"--electrodes", "--onto"}},
		{"order of the spline", plain, "combine FILE --onto 10-20 --spline-order 9 -o OUT", usage,
			[]string{"--spline-order 9", "3 to 6"}},
		{"a reference that is not there", plain, "map FILE --at 100ms --reference F7 -o OUT.png", failed,
			[]string{"--reference", "no F7"}},
		{"an ear as the reference", plain, "values FILE --at 100ms --reference M1", failed,
			[]string{"no M1", "ears and mastoids are not kept"}},
		{"no reference", plain, "map FILE --at 100ms --reference P77 -o OUT.png", usage, []string{"P77"}},
	} {
		t.Run(m.name, m.check)
	}
}
