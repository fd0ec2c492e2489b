package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"calotte/cmd/internal/console"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/reject"
)

// The report fits a screen, lines up, and ends in what to do next, for
// recordings whose faults are planted: channels with an amplitude of their
// number times the factor.
func TestReport(t *testing.T) {
	dir := t.TempDir()
	path := sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf")) // Oz swings by 16 µV, P8 by 14 µV
	out := must(t, "average", path, "--condition", "go=go", "--condition", "stop=stop and time:0s..4s", "--epoch",
		"-100..400ms", "--baseline", "none",
		"--reject", "15uV", "--minimum", "0", "--sme", "100..200ms", "--condition",
		"rest=stop and time:4.2s..9s",
		"-o",
		filepath.Join(dir, "all"), "--repair", "Oz")
	lines := strings.Split(strings.TrimSuffix(out, "\n"), "\n")
	want := []string{
		"rec: 8 sites at 100 Hz, reference: as recorded, baseline: none",
		"  go     9 epochs kept   1 rejected (1 outside the data)",
		"  stop   4 epochs kept   none rejected",
		"  rest   5 epochs kept   none rejected",
		"  quality   noise left (±)   error over 100..200ms",
	}
	for i, w := range want {
		if i >= len(lines) || !strings.HasPrefix(lines[i], w) {
			t.Fatalf("line %d is not %q:\n%s", i, w, out)
		}
	}
	if len(lines) > 24 || !strings.Contains(out, "  repaired, asked for: Oz\n") {
		t.Errorf("%d lines:\n%s", len(lines), out)
	}
}

// What is advised helps: the electrode alone caused the rejections, and its
// repair keeps the epochs that are promised.
func TestAdviceOfTheReport(t *testing.T) {
	dir := t.TempDir()
	path := sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf"))
	args := []string{"average", path, "--condition", "go=go", "--condition", "soft=go and time:0s..1s", "--epoch",
		"-100..400ms", "--baseline", "none", "--reject", "15uV"}
	_, stderr, code := calotte(append(args, "-o", filepath.Join(dir, "one"))...)
	if code != console.Failed || !strings.Contains(stderr, "most at Oz (9)") {
		t.Fatalf("exit %d: %s", code, stderr)
	}
	out := must(t, append(args, "--repair", "Oz", "-o", filepath.Join(dir, "two"))...)
	if !strings.Contains(out, "go     9 epochs kept") || strings.Contains(out, "next:") {
		t.Errorf("%s", out)
	}
}

// Advice fits what was found: a bad electrode is repaired, blinks are taken out
// where an eye channel is there, and nothing is advised that would not help.
func TestAdvise(t *testing.T) {
	eyes := &montage.Montage{Aside: []montage.Aside{{Label: "EOG VEOG", Reason: "no electrode on the scalp"},
		{Label: "EOG HEOG"}}}
	none := &montage.Montage{}
	verdicts := func(sites ...string) reject.Rejections {
		r := reject.Rejections{Verdicts: []reject.Verdict{{Conditions: []string{"known"}}}}
		for _, list := range sites {
			v := reject.Verdict{Conditions: []string{"known"}}
			for s := range strings.SplitSeq(list, " ") {
				v.Faults = append(v.Faults,
					reject.Fault{Site: s, Reason: reject.PeakToPeak, Value: 200, Limit: 150})
			}
			r.Verdicts = append(r.Verdicts, v)
		}
		return r
	}
	keeps := func(more int) reject.Rejections {
		r := verdicts()
		r.Verdicts = append(r.Verdicts, slices.Repeat(r.Verdicts, more)...)
		return r
	}
	for _, c := range []struct {
		name    string
		r       reject.Rejections
		m       *montage.Montage
		blinks  int
		without bool // blinks are out already
		want    string
	}{
		{"nothing rejected", verdicts(), eyes, 0, false, ""},
		{"one bad electrode", verdicts("AF7", "AF7", "AF7", "Cz Pz", "AF7 Cz"), eyes, 0, false,
			"AF7 alone caused 3 of 5 rejections: --repair AF7 keeps 3 epochs more"},
		{"blinks", verdicts("Fp1 Fpz Fp2", "Fp1 Fp2 AF7", "Fpz AF3", "Cz"), eyes, 0, false,
			"3 of 4 rejections are at the forehead, as blinks are: --blinks VEOG,HEOG takes them out"},
		{"blinks without an eye channel", verdicts("Fp1 Fpz Fp2", "Fp1 Fp2 AF7", "Fpz AF3", "Cz"), none, 0,
			false,
			"3 of 4 rejections are at the forehead, as blinks are: calotte unmix finds them as " +
				"components, and " +
				"average --unmix takes them out"},
		{"blinks among the kept", keeps(19), eyes, 2, false, "2 of 20 epochs that are kept swing at the " +
			"forehead as in blinks, which no limit found: --blinks VEOG,HEOG takes them out"},
		{"few among the kept", keeps(20), eyes, 2, false, ""},
		{"one among the kept", keeps(4), eyes, 1, false, ""},
		{"kept, and taken out", keeps(4), eyes, 4, true, ""},
		{"taken out, and Fp1 is bad", verdicts("Fp1", "Fp1", "Cz Pz"), eyes, 0, true,
			"Fp1 alone caused 2 of 3 rejections: --repair Fp1 keeps 2 epochs more"},
		{"all over", verdicts("Cz Pz", "C3 P3", "F3 O1"), eyes, 0, false, ""},
	} {
		if got := advise(c.r, c.m, c.blinks, c.without); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// Limits that find nothing and averages of few epochs are warned of, by the
// open recordings, whose limits reach 520 µV; and not where there is no such
// fault.
func TestWarningsOfAverages(t *testing.T) {
	dir := t.TempDir()
	path := sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf"))
	args := []string{"average", path, "--condition", "go=go", "--epoch", "-100..400ms", "--baseline", "none"}
	_, stderr, _ := calotte(append(args, "-o", filepath.Join(dir, "few"))...)
	if !strings.Contains(stderr, "warning: rec, go: few epochs: 9, fewer than 15\n") {
		t.Errorf("%q", stderr)
	}
	_, stderr, _ = calotte(append(args, "--condition", "all=go,stop", "-o", filepath.Join(dir, "all"))...)
	if strings.Contains(stderr, "rec, all:") {
		t.Errorf("18 epochs: %q", stderr)
	}
	open := filepath.Join("..", "..", "..", "shared", "data", "eegmmidb", "S001R03.edf")
	if _, err := os.Stat(open); err != nil {
		t.Skip("the open recordings are not here")
	}
	args = []string{"average", open, "--condition", "move=T1,T2", "--highpass", "0.5Hz", "--lowpass", "30Hz",
		"--reference", "average", "--reject", "robust"}
	stdout, stderr, _ := calotte(append(args, "-o", filepath.Join(dir, "open"))...)
	if !strings.Contains(stderr, "far above what brains do") || !strings.Contains(stdout, "calotte unmix finds") {
		t.Errorf("%q, %q", stdout, stderr)
	}
	for noise, code := range map[string]int{"20uV": console.OK, "1uV": console.Failed} {
		_, stderr, got := calotte(append(args, "--most-noise", noise, "-o", filepath.Join(dir, noise))...)
		if got != code || (got == console.Failed) != strings.Contains(stderr,
			"noise left, and the most is 1uV") {
			t.Errorf("%s: exit %d: %q", noise, got, stderr)
		}
	}
}

// A decision against one electrode drops the whole epoch, unless it is asked to
// be replaced; a decision against the epoch needs no such word.
func TestWholeEpochsDropped(t *testing.T) {
	dir := t.TempDir()
	path := sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf"))
	of := func(name, electrode string) string {
		return writeFile(t, filepath.Join(dir, name), "file\tonset\telectrode\nrec.edf\t2\t"+electrode+"\n")
	}
	args := []string{"average", path, "--condition", "go=go", "--epoch", "-100..400ms", "--baseline", "none",
		"--force", "-o", filepath.Join(dir, "out"), "--exclude"}
	const note = "note: 1 epoch is dropped whole, since --exclude names an electrode in"
	for _, c := range []struct {
		args []string
		said bool
	}{
		{append(slices.Clone(args), of("one.tsv", "Oz")), true},
		{append(slices.Clone(args), of("one.tsv", "Oz"), "--repair", "excluded"), false},
		{append(slices.Clone(args), of("all.tsv", "n/a")), false},
	} {
		if _, stderr, code := calotte(c.args...); code != console.OK ||
			strings.Contains(stderr, note) != c.said {
			t.Errorf("%v: exit %d: %q", c.args[len(args):], code, stderr)
		}
	}
}

// What a map says of how it was made: the smoothing that was found, in the
// legend, the record and the methods, and that no reference is known.
func TestFoundSmoothingIsRecorded(t *testing.T) {
	dir := t.TempDir()
	path := sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf"))
	must(t, "average", path, "--condition", "go=go", "--epoch", "-100..400ms", "--baseline", "none", "-o", dir)
	table, figure := filepath.Join(dir, "rec_go_average.tsv"), filepath.Join(dir, "maps.svg")
	_, stderr, code := calotte("map", table, "--at", "100ms", "--spline-smoothing", "gcv", "-o", figure)
	if code != console.OK || !strings.Contains(stderr, "warning: no reference is stated") {
		t.Fatalf("exit %d: %q", code, stderr)
	}
	if text := readText(t, figure); !strings.Contains(text, "by generalised cross-validation\"") {
		t.Errorf("no λ in the record")
	}
	if text := must(t, "methods", figure, "--in", dir); !strings.Contains(text, "by generalised cross-validation") {
		t.Errorf("%s", text)
	}
	must(t, "average", path, "--condition", "go=go", "--epoch", "-100..400ms", "--baseline", "none", "--reference",
		"average", "--force", "-o", dir)
	_, stderr, _ = calotte("map", table, "--at", "100ms", "--force", "-o", figure)
	if strings.Contains(stderr, "no reference") {
		t.Errorf("%q", stderr)
	}
}
