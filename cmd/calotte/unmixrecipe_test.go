package main

import (
	"path/filepath"
	"testing"

	"calotte/cmd/internal/archive"
)

// In a recipe each person has a table of decisions, and another person's
// average stays as it would be without.
func TestUnmixInARecipe(t *testing.T) {
	dir := t.TempDir()
	for k, name := range []string{"sub-01", "sub-02"} {
		rec := blinking(t, filepath.Join(dir, name+".edf"), 60, uint64(k+1))
		if k == 0 {
			must(t, "unmix", rec, "-o", filepath.Join(dir, "unmixed"))
		}
	}
	recipe := writeFile(t, filepath.Join(dir, "recipe.yaml"), `recordings: [sub-01.edf, sub-02.edf]
average:
  condition: [go=go]
  epoch: -50..300ms
people:
  sub-01: {unmix: unmixed/sub-01_unmix.tsv}
`)
	must(t, "cohort", "run", recipe)
	for name, want := range map[string]bool{"sub-01": true, "sub-02": false} {
		info, err := archive.ReadInfo(filepath.Join(dir, "results", name, name+"_go_average.tsv"))
		if err != nil {
			t.Fatal(err)
		}
		if got := info.Unmixed != nil && info.Unmixed.Removed == 1; got != want {
			t.Errorf("%s: %v taken out", name, info.Unmixed)
		}
	}
}
