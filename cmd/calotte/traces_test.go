package main

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Of two conditions of the same people the band is on their difference; without
// it there is none, and the figure says why. Asked for, it is on each.
func TestTracesBands(t *testing.T) {
	dir := t.TempDir()
	rng := rand.New(rand.NewPCG(1, 9))
	args := []string{"combine"}
	for k := range 4 {
		for _, condition := range []string{"known", "novel"} {
			path := writeFile(t, filepath.Join(dir, fmt.Sprintf("sub-%d_%s_average.tsv", k+1, condition)),
				averageTable(tableHeader,
					func(int, int) string { return fmt.Sprint(rng.NormFloat64()) }))
			args = append(args, path)
		}
	}
	must(t, append(args, "--name", "all", "-o", dir)...)
	must(t, append(args, "--name", "all", "--difference", "known,novel", "-o", dir)...)
	table := func(condition string) string { return filepath.Join(dir, "all_"+condition+"_average.tsv") }
	for _, c := range []struct {
		name  string
		args  []string
		want  string
		bands int // filled areas beside that of nothing
	}{
		{"conditions", []string{table("known"), table("novel")},
			"No bands: these conditions are of the same people",
			0},
		{"with their difference", []string{table("known"), table("novel"), table("known-novel")},
			"intervals of the mean difference (t) over people", 1},
		{"one condition", []string{table("known")}, "intervals of the mean (t) over people", 1},
		{"asked for", []string{table("known"), table("novel"), "--band", "sem"},
			"one standard error of the mean over people", 2},
		{"none", []string{table("known"), "--band", "none"}, "Reference not known", 0},
	} {
		figure := filepath.Join(dir, strings.ReplaceAll(c.name, " ", "-")+".svg")
		must(t, append(append([]string{"traces"}, c.args...), "--sites", "P8", "-o", figure)...)
		b, err := os.ReadFile(figure)
		if err != nil {
			t.Fatal(err)
		}
		text := strings.Join(strings.Fields(strings.ReplaceAll(string(b), "\u00a0", " ")), " ")
		if !strings.Contains(text, c.want) {
			t.Errorf("%s: the figure does not say %q", c.name, c.want)
		}
		if n := strings.Count(text, "fill-opacity"); n != c.bands {
			t.Errorf("%s: %d bands, want %d", c.name, n, c.bands)
		}
	}
}
