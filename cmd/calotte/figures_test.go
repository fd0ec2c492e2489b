package main

import (
	"flag"
	"os"
	"path/filepath"
	"testing"

	"gonum.org/v1/plot/cmpimg"
)

var update = flag.Bool("update", false, "write the figures of the README anew; look at them")

// checkFigures draws the figures of the README from the demo's files and
// compares them with those that were looked at.
func checkFigures(t *testing.T, demo string) {
	t.Helper()
	known := filepath.Join(demo, "averages", "pilots_known_average.tsv")
	head := filepath.Join(demo, "pilots_head.json")
	n170, sites := filepath.Join(demo, "n170.png"), filepath.Join(demo, "sites.png")
	must(t, "map", known, "--at", "150..190ms", "--labels", "--width", "85mm", "--head", head, "-o", n170)
	must(t, "map", known, "--at", "350ms", "--labels", "--width", "114mm",
		"--circumference", "560mm", "--nasion-inion", "365mm", "--ear-ear", "340mm", "-o", sites)
	traces := filepath.Join(demo, "traces.png")
	must(t, "traces", known, filepath.Join(demo, "averages", "pilots_novel_average.tsv"), filepath.Join(demo, "averages", "pilots_known-novel_average.tsv"),
		"--sites", "P7,P8", "--window", "n170=150..190ms", "-o", traces)
	for golden, drawn := range map[string]string{
		"demo-maps.png":   filepath.Join(demo, "maps.png"),
		"demo-n170.png":   n170,
		"demo-sites.png":  sites,
		"demo-traces.png": traces,
	} {
		got, err := os.ReadFile(drawn)
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join("../../testdata/figures", golden)
		if *update {
			writeFile(t, path, string(got))
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		// A tolerance for other architectures' last bits: a pixel may be a few steps off.
		if same, err := cmpimg.EqualApprox("png", got, want, 0.05); err != nil || !same {
			t.Errorf("%s has changed (%v): look at %s, then update", golden, err, drawn)
		}
	}
}
