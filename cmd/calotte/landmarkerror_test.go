package main

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/console"
	"calotte/layout"
	"calotte/layout/capcheck"
)

// A cap in place, digitised with its landmarks: its turn is as sure as they
// are, and what is assumed of them is said.
func TestLandmarkError(t *testing.T) {
	path := filepath.Join(t.TempDir(), "cap_electrodes.tsv")
	must(t, append([]string{"place", "--sites", "10-10", "-o", path}, strings.Fields(tapeArgs)...)...)
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	landmarks := strings.NewReplacer("\nNz\t", "\nNAS\t", "\nT9\t", "\nLPA\t", "\nT10\t", "\nRPA\t")
	path = writeFile(t, filepath.Join(t.TempDir(), "cap.tsv"), landmarks.Replace(string(text))) // without a sidecar
	pitch := func(args ...string) float64 {
		all := append(append([]string{"capcheck", path, "--unit", "mm", "--format", "json"},
			strings.Fields(tapeArgs)...), args...)
		stdout, stderr, code := calotte(all...)
		if code != console.OK || !strings.Contains(stderr, "(--landmark-error)") {
			t.Fatalf("exit %d: %s", code, stderr)
		}
		var check struct {
			Turn       capcheck.Turn
			Covariance layout.PoseCovariance
		}
		if err := json.Unmarshal([]byte(stdout), &check); err != nil {
			t.Fatal(err)
		}
		if got, want := check.Covariance.Degrees().X, check.Turn.Pitch.Error; math.Abs(got-want) > 1e-9 {
			t.Errorf("the covariance has %g°, the turn ± %g°", got, want)
		}
		return check.Turn.Pitch.Error
	}
	usual, said, twice := pitch(), pitch("--landmark-error", "2mm"), pitch("--landmark-error", "4mm")
	if usual != said || math.Abs(twice/usual-2) > .01 || usual < .5 {
		t.Errorf("± %g° without, %g° with 2 mm, %g° with 4 mm", usual, said, twice)
	}
}
