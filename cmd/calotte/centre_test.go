package main

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/archive"
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
)

// Other centres than the mean are those of the epochs that are kept, at each
// site, pair and sample, and every output names them.
func TestCentres(t *testing.T) {
	dir := t.TempDir()
	rec := sessionFile{events: true, uneven: .5}.write(t, filepath.Join(dir, "rec.edf"))
	for _, c := range []epoch.Centre{epoch.Trimmed, epoch.Median} {
		out := filepath.Join(dir, c.String())
		must(t, "average", rec, "--condition", "go=go", "--epoch", "-100..300ms", "--save-epochs", "--centre",
			c.String(), "-o", out)
		path := filepath.Join(out, "rec_go_average.tsv")
		avg, _, err := archive.Load(path, average.Clock{})
		if err != nil {
			t.Fatal(err)
		}
		epochs, _, err := archive.LoadEpochs(path)
		if err != nil {
			t.Fatal(err)
		}
		if avg.Info.Centre != c.String() {
			t.Errorf("the JSON says %q, want %v", avg.Info.Centre, c)
		}
		if !strings.Contains(avg.Info.Quality.Note, "noise left are those of the mean") {
			t.Errorf("the quality says %q", avg.Info.Quality.Note)
		}
		right, left := 6, 5 // P8 and P7
		pair := -1
		for k, name := range avg.Pairs.Names {
			if name == "P8-P7" {
				pair = k
			}
		}
		for _, at := range []int{0, 17, 40} {
			var values, differences []float64
			for k := range epochs.Len() {
				samples, _ := epochs.At(k)
				values = append(values, samples[2][at])
				differences = append(differences, samples[right][at]-samples[left][at])
			}
			centre, se := c.Of(values)
			if !near(avg.Mean[2][at], centre) || !near(avg.SEM[2][at], se) {
				t.Errorf("%v at %d: %g ± %g, want %g ± %g", c, at, avg.Mean[2][at], avg.SEM[2][at],
					centre,
					se)
			}
			centre, se = c.Of(differences)
			if !near(avg.Pairs.Mean[pair][at], centre) || !near(avg.Pairs.SEM[pair][at], se) {
				t.Errorf("%v, P8-P7 at %d: %g ± %g, want %g ± %g", c, at, avg.Pairs.Mean[pair][at],
					avg.Pairs.SEM[pair][at], centre, se)
			}
		}
		words := average.CentreWords(c) + " of epochs"
		sides := cellsOf(t, must(t, "asymmetry", path, "--at", "170ms", "--of", "P7"))
		n := epochs.Len()
		half := c.HalfInterval(n) * number(t, sides[0]["sem"])
		if sides[0]["over"] != "epochs, "+words || sides[0]["p"] != "n/a" ||
			math.Abs(number(t, sides[0]["high"])-number(t, sides[0]["low"])-2*half) > 1e-3 {
			t.Errorf("%v, want %s and an interval of ±%g", sides[0], words, half)
		}
		for _, figure := range []string{"map", "traces"} {
			svg := filepath.Join(out, figure+".svg")
			args := []string{figure, path, "-o", svg}
			if figure == "map" {
				args = append(args, "--at", "170ms")
			} else {
				args = append(args, "--sites", "P7")
			}
			must(t, args...)
			if text, err := os.ReadFile(svg); err != nil || !strings.Contains(string(text), words) {
				t.Errorf("%s does not say %q (%v)", svg, words, err)
			}
		}
		if text := must(t, "methods", path); !strings.Contains(text,
			"is the "+average.CentreWords(c)+" of the epochs") {
			t.Error(text)
		}
		for _, refused := range [][]string{
			{"map", path, "--at", "170ms", "--reference", "Cz", "-o", filepath.Join(out, "no.png")},
			{"map", path, "--at", "170ms", "--field", "error", "-o", filepath.Join(out, "no.png")},
			{"components", path, "--window", "100..200ms", "--measurement-errors"},
		} {
			if err := calotteFails(refused...); !strings.Contains(err, words) {
				t.Errorf("%v: %s, want %q", refused, err, words)
			}
		}
	}
	if err := calotteFails("average", rec, "--condition", "go=go", "--centre", "middle", "-o",
		dir); !strings.Contains(err,
		"mean, trimmed (by 20 % at each end) or median") {
		t.Error(err)
	}
	if err := calotteFails("average", rec, "--condition", "go=go", "--epoch", "-7..1s", "--centre", "trimmed", "-o",
		filepath.Join(dir, "few")); !strings.Contains(err,
		"20 % trimmed mean is their mean: expected 5 or more") {
		t.Error(err)
	}
}

func near(a, b float64) bool { return math.Abs(a-b) < 1e-6 }
