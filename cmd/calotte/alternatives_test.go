package main

import (
	"encoding/json"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/averages"
)

const alternativesRecipe = `name: pilots
recordings: data
average:
  condition: [go=go, stop=stop]
  epoch: -100..300ms
alternatives:
  of: [P8, Oz]
  window: [50..150ms, 100..200ms]
  average:
    reference: [recorded, average]
    highpass: [none, 0.5Hz]
`

// Every way is there once, its difference is that of averages made by hand, and
// the same table comes on one processor.
func TestAlternatives(t *testing.T) {
	dir, path := smallStudy(t, alternativesRecipe)
	out := filepath.Join(dir, "ways.tsv")
	said := must(t, "alternatives", path, "-o", out)
	table := readText(t, out)
	rows := cellsOf(t, table)
	if len(rows) != 16 {
		t.Fatalf("%d rows of 16 ways:\n%s", len(rows), table)
	}
	byHand := func(reference, window, site string, more ...string) float64 {
		mean := 0.
		for _, person := range []string{"01", "02", "03"} {
			folder := filepath.Join(t.TempDir(), "by-hand")
			must(t, append([]string{"average", filepath.Join(dir, "data"), "--participant", person, "--condition",
				"go=go", "--condition", "stop=stop", "--epoch", "-100..300ms", "--reference", reference, "-o",
				folder}, more...)...)
			for sign, condition := range map[float64]string{1: "go", -1: "stop"} {
				mean += sign / 3 * valuesAt(t, filepath.Join(folder, "sub-"+person+"_"+condition+"_average.tsv"), "--at",
					window, "--sites", site)[0].Value
			}
		}
		return mean
	}
	seen, last := map[string]bool{}, math.Inf(-1)
	for _, row := range rows {
		key := row["reference"] + row["highpass"] + row["window"] + row["site"]
		value := number(t, row["difference_uV"])
		if seen[key] || value < last || row["people"] != "3" {
			t.Errorf("%v", row)
		}
		seen[key], last = true, value
		var want float64
		switch key {
		case "recordednone50..150msP8":
			want = byHand("recorded", "50..150ms", "P8")
		case "average0.5Hz100..200msOz":
			want = byHand("average", "100..200ms", "Oz", "--highpass", "0.5Hz")
		default:
			continue
		}
		if math.Abs(value-want) > 1e-3 {
			t.Errorf("%s: %g µV, by hand %g", key, value, want)
		}
	}
	for _, want := range []string{"go minus stop in 16 ways, 3 people",
		"of 16 ways reach 0.05", "What each choice moves"} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is not said:\n%s", want, said)
		}
	}
	var record averages.TableRecord
	if err := json.Unmarshal([]byte(readText(t, filepath.Join(dir, "ways.json"))), &record); err != nil ||
		record.Provenance.Settings["alternatives highpass"] != "none 0.5Hz" || len(record.Provenance.Inputs) != 4 {
		t.Errorf("%+v, %v", record.Provenance, err)
	}
	if again := must(t, "alternatives", path, "--jobs", "1"); again != table {
		t.Errorf("on one processor:\n%s", again)
	}
	figure := filepath.Join(dir, "ways.svg")
	must(t, "alternatives", path, "-o", figure)
	if text := plainText(readText(t, figure)); !strings.Contains(text, "go minus stop in 16 ways") ||
		!strings.Contains(text, "0.5Hz") {
		t.Error("the figure does not say what was chosen")
	}
}

func TestAlternativesMistakes(t *testing.T) {
	with := func(old, new string) string { return strings.Replace(alternativesRecipe, old, new, 1) }
	for want, recipe := range map[string]string{
		"has no section alternatives":                    alternativesRecipe[:strings.Index(alternativesRecipe, "alternatives")],
		"of or window is missing":                        with("  of: [P8, Oz]\n", ""),
		`there is no key "windw": did you mean window?`:  with("  window:", "  windw:"),
		`there is no key "hipass"`:                       with("highpass", "hipass"),
		`there is no key "condition"`:                    with("highpass: [none, 0.5Hz]", "condition: [a=go]"),
		"line 11: highpass:":                             with("0.5Hz", "half"),
		"line 10: reference:":                            with("[recorded, average]", "[recorded, '']"),
		"window soon: expected a range":                  with("100..200ms", "soon"),
		"of: ":                                           with("Oz", "'O z !'"),
		"names a value twice":                            with("Oz", "P8"),
		"there is no condition rest: expected two of go": with("  of:", "  conditions: [go, rest]\n  of:"),
		"expected two conditions, not go":                with("  of:", "  conditions: [go]\n  of:"),
		"F3":                                             with("Oz", "F3"),
		"allow one way": with("  of: [P8, Oz]\n  window: [50..150ms, 100..200ms]\n  average:\n    "+
			"reference: [recorded, average]\n    highpass: [none, 0.5Hz]\n", "  {of: P8, window: 50..90ms}\n"),
		"0 people are in all ways": with("highpass: [none, 0.5Hz]", "minimum: [1, 500]"),
		"expected keys with values": with("  of: [P8, Oz]\n  window: [50..150ms, 100..200ms]\n  average:\n    "+
			"reference: [recorded, average]\n    highpass: [none, 0.5Hz]\n", "  [1, 2]\n"),
	} {
		_, path := smallStudy(t, recipe)
		err := calotteFails("alternatives", path)
		if !strings.Contains(err, want) || strings.Count(strings.TrimSpace(err), "\n") > 0 {
			t.Errorf("%q, want %q", err, want)
		}
	}
	_, path := smallStudy(t, alternativesRecipe)
	for want, args := range map[string][]string{
		"needs one recipe":      {},
		"expected 99 or more":   {path, "--arrangements", "5"},
		"--dpi is for a figure": {path, "--dpi", "600"},
		"x.bmp":                 {path, "-o", "x.bmp"},
	} {
		if err := calotteFails(append([]string{"alternatives"}, args...)...); !strings.Contains(err, want) {
			t.Errorf("%v: %q, want %q", args, err, want)
		}
	}
}
