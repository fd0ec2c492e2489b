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
	known := filepath.Join(demo, "results", "group", "pilots_known_average.tsv")
	head := filepath.Join(demo, "pilots_head.json")
	sides, sites := filepath.Join(demo, "sides.png"), filepath.Join(demo, "sites.png")
	must(t, "asymmetry", known, "--at", "150..190ms", "--of", "P7,PO7,TP7,O1", "--head", head, "-o", sides)
	must(t, "map", known, "--at", "350ms", "--labels", "--width", "114mm",
		"--circumference", "560mm", "--nasion-inion", "365mm", "--ear-ear", "340mm", "-o", sites)
	traces := filepath.Join(demo, "traces.png")
	must(t, "traces", known, filepath.Join(demo, "results", "group", "pilots_novel_average.tsv"),
		filepath.Join(demo, "results", "group", "pilots_known-novel_average.tsv"),
		"--sites", "P7,P8", "--window", "n170=150..190ms", "-o", traces)
	hung := filepath.Join(demo, "hung.png")
	must(t, "traces", known, "--maps", "--window", "80..110ms", "--window", "150..190ms", "--window", "300..400ms",
		"--head", head, "-o", hung)
	for golden, drawn := range map[string]string{
		"demo-maps.png":   filepath.Join(demo, "results", "figures", "maps.png"),
		"demo-sides.png":  sides,
		"demo-sites.png":  sites,
		"demo-traces.png": traces,
		"demo-hung.png":   hung,
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
		// A tolerance for other architectures' last bits: a pixel may
		// be a few steps off.
		if same, err := cmpimg.EqualApprox("png", got, want, 0.05); err != nil || !same {
			t.Errorf("%s has changed (%v): look at %s, then update", golden, err, drawn)
		}
	}
}
