package main

import (
	"bytes"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/topo/recording"
)

// glances writes a recording of looks sideways at 100 Hz: 80 seconds, a "known"
// or a "novel" flag in turn each second. In every epoch the wearer looks
// somewhere, by 10 µV of the eye channels at random, and from 0.1 s on by so
// many µV more to the right at novel flags. The eyes reach the sites by the
// sign of their side times reach, F7 and F8 by half; noise is 4 µV everywhere.
func glances(t *testing.T, path string, eyes []string, more, reach float64, seed uint64) string {
	t.Helper()
	sites := []string{"F7", "F8", "T7", "T8", "P7", "P8", "Fz", "Cz", "Pz"}
	share := map[string]float64{"F7": -.5, "F8": .5, "T7": -2 * reach, "T8": 2 * reach, "P7": -reach, "P8": reach,
		"EOG HEOG": 1, "HEOGR": .5, "HEOGL": -.5}
	const rate, seconds = 100, 80
	h := recording.Header{Patient: "X X X X", Recording: "Startdate 01-MAR-2026 X X synthetic",
		Kind: recording.EDFPlusC, Start: time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC), Records: seconds,
		RecordDuration: 1}
	labels := append(sites, eyes...)
	for _, l := range labels {
		h.Signals = append(h.Signals, recording.Signal{Label: l, Unit: "uV", PhysicalMin: -3276.8,
			PhysicalMax: 3276.7, DigitalMin: -32768, DigitalMax: 32767, SamplesPerRecord: rate})
	}
	var file bytes.Buffer
	w, err := recording.NewWriter(&file, h)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(seed, 3))
	for second := range seconds {
		block := make([][]float64, len(labels))
		flag, look := "known", 10*rng.NormFloat64()
		if second%2 == 1 {
			flag, look = "novel", look+more
		}
		for i, l := range labels {
			block[i] = make([]float64, rate)
			for k := range block[i] {
				block[i][k] = 4 * rng.NormFloat64()
				if k >= 40 { // the flag is at 0.3 s
					block[i][k] += share[l] * look
				}
			}
		}
		if err := w.WriteRecord(block, []recording.Event{{Onset: float64(second) + .3, Duration: math.NaN(),
			Text: flag}}); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return writeFile(t, path, file.String())
}

// gazeLine is what average prints of the difference of the conditions.
var gazeLine = regexp.MustCompile(`known minus novel (\S+) \[(\S+), (\S+)\](.*)`)

// A look of 1° more to the right (15 µV) at novel flags is told in µV and
// degrees, and asymmetry says that it could carry what it did; without one
// neither speaks of any.
func TestGazeCarriesAnAsymmetry(t *testing.T) {
	for _, c := range []struct {
		name, source string
		eyes         []string
		degrees      bool
	}{
		{"a bipolar channel", "HEOG", []string{"EOG HEOG"}, true},
		{"two channels", "HEOGR-HEOGL", []string{"HEOGL", "HEOGR"}, true},
		{"no eye channel", "F8 minus F7", nil, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, more := range []float64{0, 15} {
				dir := t.TempDir()
				rec := glances(t, filepath.Join(dir, "sub-01_eeg.edf"), c.eyes, more, .1, 5)
				said := must(t, "average", rec, "--condition", "known=known", "--condition",
					"novel=novel",
					"--epoch", "-200..600ms", "--sme", "200..500ms", "-o", dir)
				found := gazeLine.FindStringSubmatch(strings.ReplaceAll(said, "−", "-"))
				if found == nil || !strings.Contains(said,
					"looks sideways ("+c.source+") over 200..500ms") {
					t.Fatalf("%g µV: %s", more, said)
				}
				value, low, high := number(t, found[1]), number(t, found[2]), number(t, found[3])
				if low > -more || high < -more || high-low > 12 || math.Abs(value+more) > 6 {
					t.Errorf("%g µV: %s", more, found[0])
				}
				if degrees := strings.Contains(found[4], "°"); degrees != c.degrees {
					t.Errorf("%g µV: %s", more, found[0])
				}
				must(t, "combine", filepath.Join(dir, "sub-01_known_average.tsv"),
					filepath.Join(dir, "sub-01_novel_average.tsv"), "--difference", "known,novel",
					"-o",
					dir)
				told := toldBy(t, "asymmetry", filepath.Join(dir, "sub-01_known-novel_average.tsv"),
					"--at", "200..500ms", "--of", "P7,F7")
				words := "Looks sideways could carry this: " + c.source
				if strings.Contains(told, words) != (more > 0) {
					t.Errorf("%g µV: %s", more, told)
				}
				own := strings.Contains(told, "stand in for eye channels: how much of it")
				if own != (c.eyes == nil) {
					t.Errorf("%g µV, the sites that stand in themselves: %s", more, told)
				}
			}
		})
	}
}

// Over seeds the sentence appears where a look of 1° carries a difference, and
// seldom where nobody looks aside on purpose: of 100 each, 100 and 6 (an eye
// channel) and 100 and 4 (F8 minus F7).
func TestHowOftenGazeIsSpokenOf(t *testing.T) {
	const seeds = 20
	for _, eyes := range [][]string{{"EOG HEOG"}, nil} {
		for _, more := range []float64{0, 15} {
			said := 0
			for seed := range uint64(seeds) {
				dir := t.TempDir()
				rec := glances(t, filepath.Join(dir, "sub-01_eeg.edf"), eyes, more, .1, seed+50)
				must(t, "average", rec, "--condition", "known=known", "--condition", "novel=novel", "--epoch",
					"-200..600ms", "-o", dir)
				must(t, "combine", filepath.Join(dir, "sub-01_known_average.tsv"),
					filepath.Join(dir, "sub-01_novel_average.tsv"), "--difference", "known,novel", "-o", dir)
				if strings.Contains(toldBy(t, "asymmetry", filepath.Join(dir, "sub-01_known-novel_average.tsv"),
					"--at", "200..500ms", "--of", "P7"), "Looks sideways could carry this") {
					said++
				}
			}
			t.Logf("%v, %g µV: %d of %d", eyes, more, said, seeds)
			if more == 0 && said > 5 || more > 0 && said < seeds {
				t.Errorf("%v, %g µV: said in %d of %d", eyes, more, said, seeds)
			}
		}
	}
}

// toldBy is what a command line that works prints of its table in words.
func toldBy(t *testing.T, args ...string) string {
	t.Helper()
	_, told, code := calotte(args...)
	if code != console.OK {
		t.Fatalf("%q: exit %d: %s", args, code, told)
	}
	return told
}

// What a look puts into a group is found in each person's average, and told
// where contralateral is set against ipsilateral, too: of flags on the left the
// wearers look to the left.
func TestGazeOfAGroup(t *testing.T) {
	dir := t.TempDir()
	var averages []string
	for k, name := range []string{"sub-01", "sub-02", "sub-03", "sub-04", "sub-05", "sub-06"} {
		rec := glances(t, filepath.Join(dir, name+"_eeg.edf"), []string{"EOG HEOG"}, 15, .1, uint64(k))
		must(t, "average", rec, "--condition", "known=known", "--condition", "novel=novel", "--epoch",
			"-200..600ms", "-o", dir)
		averages = append(averages, filepath.Join(dir, name+"_known_average.tsv"),
			filepath.Join(dir, name+"_novel_average.tsv"))
	}
	must(t, append([]string{"combine", "--name", "pilots", "-o", dir}, averages...)...)
	must(t, append([]string{"combine", "--name", "pilots", "--difference", "known,novel", "-o", dir},
		averages...)...)
	const words = "Looks sideways could carry this: HEOG"
	grand := func(what string) string { return filepath.Join(dir, "pilots_"+what+"_average.tsv") }
	for _, args := range [][]string{
		{"asymmetry", grand("known-novel")},
		{"asymmetry", grand("novel")},
		{"asymmetry", "--contralateral", grand("known"), grand("novel")},
	} {
		if told := toldBy(t, append(args, "--at", "200..500ms", "--of", "P7", "--in",
			dir)...); !strings.Contains(told,
			words) {
			t.Errorf("%q: %s", args, told)
		}
	}
	if told := toldBy(t, "asymmetry", grand("known"), "--at", "200..500ms", "--of", "P7", "--in",
		dir); strings.Contains(told, words) {
		t.Errorf("known flags, at which nobody looks aside: %s", told)
	}
	// An average that says nothing of the gaze is measured as before.
	path := filepath.Join(dir, "sub-01_novel_average.tsv")
	info, err := archive.ReadInfo(path)
	if err != nil || info.Gaze == nil || len(info.Gaze.Mean) != 81 {
		t.Fatalf("%+v, %v", info.Gaze, err)
	}
	if err := os.Remove(strings.TrimSuffix(path, ".tsv") + ".json"); err != nil {
		t.Fatal(err)
	}
	if told := toldBy(t, "asymmetry", path, "--at", "200..500ms", "--of", "P7"); strings.Contains(told, words) {
		t.Errorf("without its JSON: %s", told)
	}
}
