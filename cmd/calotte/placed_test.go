package main

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/console"
)

// capCheck is what capcheck prints of a cap twisted by some degrees, with a
// standard error about each axis, in degrees.
func capCheck(twist, sure float64) string {
	v := math.Pow(sure*math.Pi/180, 2)
	return fmt.Sprintf(`{"swap": "none", "turn": {"yaw": {"degrees": %g, "known": true}}, `+
		`"covariance": [[%g, 0, 0], [0, %g, 0], [0, 0, %g]]}`, twist, v, v, v)
}

// With placement the interval of a group holds what all caps share, and of one
// person what is not known of the cap; the parts add up to the whole.
func TestPlacementInIntervals(t *testing.T) {
	dir := t.TempDir()
	known, _ := lateral(t, dir, 10)
	in := filepath.Join(dir, "people")
	ask := func(more ...string) map[string]string {
		return cellsOf(t, must(t,
			append([]string{"asymmetry", known, "--at", "100..200ms", "--in", in, "--of", "P7"},
				more...)...))[0]
	}
	half := func(row map[string]string) float64 { return (number(t, row["high"]) - number(t, row["low"])) / 2 }
	plain, own := ask(), ask("--placement", "5mm")
	shared := ask("--placement", "5mm", "--placement-shared", "3mm")
	if half(plain) != half(own) || number(t, own["own_placement_share_of_noise"]) <= 0 {
		t.Errorf("each cap's own: %v, want the interval of %v", own, plain)
	}
	want := math.Hypot(half(plain), 1.959964*number(t, shared["placement_se"]))
	if got := half(shared); math.Abs(got-want) > 2e-4 || got <= half(plain) {
		t.Errorf("half of the interval is %g, want %g", got, want)
	}
	sum := number(t, shared["noise_share"]) + number(t, shared["interpolation_share"]) +
		number(t, shared["placement_share"])
	if math.Abs(sum-1) > .002 {
		t.Errorf("the shares are %g together", sum)
	}
	saved := filepath.Join(dir, "sides.tsv")
	must(t, "asymmetry", known, "--at", "100..200ms", "--in", in, "--placement", "checked,5mm", "-o", saved)
	if text := must(t, "methods", saved); !strings.Contains(text,
		"as each person's cap check found it, where there was "+
			"none by 5mm (standard deviations") {
		t.Errorf("the methods say %q", text)
	}
	stdout, said, code := calotte("asymmetry", known, "--at", "100..200ms", "--in", in, "--of", "P7", "--placement",
		"5mm", "--placement-shared", "3mm")
	if code != console.OK || !strings.Contains(said, "placement that all caps share (3 mm, assumed)") ||
		!strings.Contains(said, "each cap's own (5 mm, assumed)") {
		t.Errorf("exit %d: %s%s", code, stdout, said)
	}
}

// What caps were checked as sitting is undone, by the files beside the averages
// or by the one that is given.
func TestPlacementChecked(t *testing.T) {
	dir := t.TempDir()
	known, _ := lateral(t, dir, 3)
	in := filepath.Join(dir, "people")
	one := filepath.Join(in, "sub-01_known_average.tsv")
	args := []string{"asymmetry", one, "--at", "150ms", "--of", "P7"}
	check := writeFile(t, filepath.Join(dir, "check.json"), capCheck(4, .5))
	plain := cellsOf(t, must(t, append(args, "--capcheck", check)...))[0]
	want := number(t, plain["right_minus_left_uV"]) + number(t, plain["change_by_capcheck"])
	given := cellsOf(t, must(t, append(args, "--capcheck", check, "--placement", "checked")...))[0]
	writeFile(t, filepath.Join(in, "sub-01_capcheck.json"), capCheck(4, .5))
	beside := cellsOf(t, must(t, append(args, "--placement", "checked")...))[0]
	for what, row := range map[string]map[string]string{"given": given, "beside": beside} {
		if got := number(t, row["right_minus_left_uV"]); math.Abs(got-want) > 2e-4 ||
			number(t, row["placement_se"]) <= 0 {
			t.Errorf("%s: %g µV at the ideal sites, want %g: %v", what, got, want, row)
		}
	}
	values := []string{"values", one, "--at", "150ms", "--sites", "P7,P8"}
	rows := cellsOf(t, must(t, append(values, "--placement", "checked")...))
	if got := number(t, rows[1]["value"]) - number(t, rows[0]["value"]); math.Abs(got-want) > 2e-4 {
		t.Errorf("values: %g µV at the ideal sites, want %g", got, want)
	}
	total := cellsOf(t, must(t, "values", known, "--in", in, "--at", "150ms", "--sites", "P7", "--field", "error",
		"--placement", "checked,5mm", "--placement-shared", "4mm"))[0]
	if number(t, total["value"]) <= number(t, total["placement"]) || number(t, total["placement"]) <= 0 {
		t.Errorf("%v: the whole error is larger than its part", total)
	}
	if err := calotteFails("asymmetry", known, "--in", in, "--at", "150ms", "--placement",
		"checked"); !strings.Contains(err, "no cap check of sub-02") || !strings.Contains(err, "checked,5mm") {
		t.Errorf("%q", err)
	}
	writeFile(t, filepath.Join(in, "sub-01_capcheck.json"), `{"turn": {"yaw": {"degrees": 4, "known": true}}}`)
	if err := calotteFails(append(args, "--placement", "checked")...); !strings.Contains(err, "how sure") {
		t.Errorf("%q", err)
	}
	writeFile(t, filepath.Join(in, "sub-01_capcheck.json"),
		strings.Replace(capCheck(4, 1), "none", "cap back to front", 1))
	if err := calotteFails(append(args, "--placement", "checked")...); !strings.Contains(err, "back to front") {
		t.Errorf("%q", err)
	}
}

// How well a cap must sit: half of the effect, half of the way; and readings
// are told where the cap cannot go unchecked.
func TestPlacementForAnEffect(t *testing.T) {
	dir := t.TempDir()
	known, _ := lateral(t, dir, 6)
	ask := func(effect string) (map[string]string, string) {
		stdout, said, code := calotte("asymmetry", known, "--at", "150ms", "--in", filepath.Join(dir, "people"),
			"--of",
			"P7", "--effect", effect)
		if code != console.OK {
			t.Fatal(said)
		}
		return cellsOf(t, stdout)[0], said
	}
	one, said := ask("1uV")
	half, _ := ask("0.5uV")
	if ratio := number(t, one["placement_needed_mm"]) / number(t, half["placement_needed_mm"]); ratio < 1.7 ||
		ratio > 2.3 {
		t.Errorf("%v and %v", one, half)
	}
	for _, want := range []string{"less than 1 µV (95 %), caps may sit off by at most " +
		fmt.Sprintf("%.1f", number(t, one["placement_needed_mm"])), "mm at the ring"} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is not said: %s", want, said)
		}
	}
	if lots, said := ask("1000uV"); lots["placement_needed_mm"] != "n/a" || lots["tapes_needed"] != "none" ||
		!strings.Contains(said, "nobody checked") {
		t.Errorf("%v: %s", lots, said)
	}
	if tiny, said := ask("0.01uV"); tiny["tapes_needed"] != "n/a" ||
		!strings.Contains(said, "digitise the electrodes") {
		t.Errorf("%v: %s", tiny, said)
	}
}
