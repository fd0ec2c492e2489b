package main

import (
	"context"
	"encoding/json"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/provenance"
)

const openRecording1, openRecording2 = "../../../shared/data/eegmmidb/S001R03.edf", "../../../shared/data/eegmmidb/S001R04.edf"

// tablesOf reads the tables of a folder.
func tablesOf(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, path := range listing(t, dir) {
		if base := filepath.Base(path); strings.HasSuffix(base, ".tsv") && !strings.HasSuffix(base,
			"_epochs.tsv") {
			b, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			out[base] = string(b)
		}
	}
	return out
}

func info(t *testing.T, path string) average.Info {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var i average.Info
	if err := json.Unmarshal(b, &i); err != nil {
		t.Fatal(err)
	}
	return i
}

// Averages of saved epochs are, byte for byte, those that they were saved with,
// also where runs are pooled; and the settings say only what was done to the
// epochs.
func TestAverageOfSavedEpochs(t *testing.T) {
	for _, path := range []string{openRecording1, openRecording2} {
		if _, err := os.Stat(path); err != nil {
			t.Skipf("%s is not here", path)
		}
	}
	dir := t.TempDir()
	first, second := filepath.Join(dir, "first"), filepath.Join(dir, "second")
	must(t, "average", openRecording1, openRecording2, "--condition", "left=T1", "--condition", "right=T2",
		"--name",
		"p",
		"--reference", "average", "--reject", "300uV", "--highpass", "0.5Hz", "--lowpass", "40Hz",
		"--save-epochs",
		"-o", first)
	must(t, "average", filepath.Join(first, "p_left_epochs.npy"), filepath.Join(first, "p_right_epochs.npy"), "-o",
		second)
	want, got := tablesOf(t, first), tablesOf(t, second)
	if len(want) != 6 || len(got) != len(want) {
		t.Fatalf("%d tables, then %d", len(want), len(got))
	}
	for name := range want {
		if got[name] != want[name] {
			t.Errorf("%s differs", name)
		}
	}
	a, b := info(t, filepath.Join(first, "p_left_average.json")), info(t,
		filepath.Join(second, "p_left_average.json"))
	if b.Filters != a.Filters || b.Reference != a.Reference || b.Baseline != a.Baseline ||
		b.Rejection != a.Rejection ||
		b.Epochs.Lost() != a.Epochs.Lost() {
		t.Errorf("%+v, want what is said in %+v", b, a)
	}
	if len(b.Provenance.Settings) != 0 {
		t.Errorf("settings %v: none was given", b.Provenance.Settings)
	}
	var inputs []string
	for _, in := range b.Provenance.Inputs {
		inputs = append(inputs, in.Name)
	}
	if strings.Join(inputs, " ") != "p_left_epochs.npy p_left_epochs.tsv p_right_epochs.npy p_right_epochs.tsv" {
		t.Errorf("inputs %v", inputs)
	}
	rows := index(t, filepath.Join(first, "p_left_epochs.tsv"))
	if len(rows) != 16 || rows[0].Source != "S001R03.edf" || rows[15].Source != "S001R04.edf" {
		t.Errorf("%d rows, from %+v to %+v; T1 comes 16 times in both runs", len(rows), rows[0],
			rows[len(rows)-1])
	}
}

func index(t *testing.T, path string) []epoch.Row {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := epoch.ReadIndex(file, "")
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// savedSession averages a small recording and keeps its epochs.
func savedSession(t *testing.T, dir string, flags ...string) (out string) {
	t.Helper()
	path := sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf"))
	out = filepath.Join(dir, "out")
	must(t, append([]string{"average", path, "--condition", "go=go", "--condition", "stop=stop", "--epoch",
		"-100..400ms", "--save-epochs", "-o", out}, flags...)...)
	return out
}

// An array that says nothing of itself is averaged with what the flags say.
func TestAverageOfBareEpochs(t *testing.T) {
	dir := t.TempDir()
	saved := savedSession(t, dir, "--baseline", "none")
	b, err := os.ReadFile(filepath.Join(saved, "rec_go_epochs.npy"))
	if err != nil {
		t.Fatal(err)
	}
	bare := writeFile(t, filepath.Join(dir, "elsewhere", "P07_go.npy"), string(b))
	list := writeFile(t, filepath.Join(dir, "sites.txt"), strings.Join(eightSites, "\n")+"\n")
	for _, sites := range []string{strings.Join(eightSites, ","), list} {
		out := filepath.Join(t.TempDir(), "out")
		must(t, "average", bare, "--sites", sites, "--rate", "100Hz", "--first", "-100ms", "-o", out)
		if text := readText(t, filepath.Join(out, "P07_go_average.json")); strings.Contains(text, dir) {
			t.Errorf("the folder of the sites is named:\n%s", text)
		}
		if said := must(t, "origin", "--redo", filepath.Join(out, "P07_go_average.tsv"), "--in",
			filepath.Dir(bare)); !strings.Contains(said, "the same bytes") {
			t.Error(said)
		}
		got, _, err := archive.Load(filepath.Join(out, "P07_go_average.tsv"), average.Clock{})
		if err != nil {
			t.Fatal(err)
		}
		want, _, err := archive.Load(filepath.Join(saved, "rec_go_average.tsv"), average.Clock{})
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(got.Times, want.Times) || !slices.Equal(got.Sites, want.Sites) ||
			!slices.Equal(got.Mean[3], want.Mean[3]) {
			t.Error("the average is not that of the epochs")
		}
		if got.Info.Reference != "" || got.Info.Baseline != "" || got.Info.Name != "P07" ||
			got.Info.Condition != "go" {
			t.Errorf("%+v: nobody said what reference and baseline were", got.Info)
		}
		if s := got.Info.Provenance.Settings; s["rate"] != "100Hz" || s["first"] != "-100ms" || len(s) != 3 {
			t.Errorf("settings %v", s)
		}
	}
	// Reference, baseline and rejection, as of a recording.
	out := filepath.Join(dir, "cleaned")
	must(t, "average", bare, "--sites", list, "--rate", "100Hz", "--first", "-100ms", "--reference", "average",
		"--baseline", "-100..0ms", "--reject", "10uV", "--repair", "Oz", "-o", out)
	direct := filepath.Join(dir, "direct")
	must(t, "average", filepath.Join(dir, "rec.edf"), "--condition", "go=go", "--epoch", "-100..400ms",
		"--reference",
		"average", "--reject", "10uV", "--repair", "Oz", "-o", direct)
	got, _, err := archive.Load(filepath.Join(out, "P07_go_average.tsv"), average.Clock{})
	if err != nil {
		t.Fatal(err)
	}
	want, _, err := archive.Load(filepath.Join(direct, "rec_go_average.tsv"), average.Clock{})
	if err != nil {
		t.Fatal(err)
	}
	if got.Info.Epochs.Kept != want.Info.Epochs.Kept || got.Info.Reference != want.Info.Reference ||
		got.Info.Baseline != want.Info.Baseline {
		t.Errorf("%+v, want %+v", got.Info, want.Info)
	}
	for i := range want.Mean {
		for k, x := range want.Mean[i] {
			if math.Abs(got.Mean[i][k]-x) > 2e-6 { // 16 µV in float32: half a step is 1e-6
				t.Fatalf("%s, sample %d: %v, want %v", want.Sites[i], k, got.Mean[i][k], x)
			}
		}
	}
}

// Decisions in a file leave the average of a recording without the events, and
// are among the inputs; a file about others is noticed.
func TestExcludeFile(t *testing.T) {
	dir := t.TempDir()
	path := sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf"))
	decisions := writeFile(t, filepath.Join(dir, "decisions.tsv"),
		"file\tonset\telectrode\treason\nrec.edf\t3\tn/a\tmoved\nrec.edf\t4.5\tn/a\tspoke\n"+
			"other.edf\t1\tn/a\tmoved\n")
	excluded, absent := filepath.Join(dir, "excluded"), filepath.Join(dir, "absent")
	out := must(t, "average", path, "--condition", "go=go", "--epoch", "-100..400ms", "--exclude", decisions, "-o",
		excluded)
	if !strings.Contains(out, "1 excluded: moved") {
		t.Errorf("the report does not say what was excluded: %s", out)
	}
	must(t, "average", path, "--condition", "go=go and not time:2.5s..3.5s", "--epoch", "-100..400ms", "-o", absent)
	want := tablesOf(t, absent)
	for name, text := range tablesOf(t, excluded) {
		if text != want[name] {
			t.Errorf("%s differs from that without the event", name)
		}
	}
	i := info(t, filepath.Join(excluded, "rec_go_average.json"))
	b, err := os.ReadFile(decisions)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Contains(i.Provenance.Inputs, provenance.Source{Name: "decisions.tsv", SHA256: archive.Hash(b)}) {
		t.Errorf("inputs %v", i.Provenance.Inputs)
	}
	// The same decisions about the saved epochs.
	saved, again := filepath.Join(dir, "saved"), filepath.Join(dir, "again")
	must(t, "average", path, "--condition", "go=go", "--condition", "stop=stop", "--epoch", "-100..400ms",
		"--save-epochs", "-o", saved)
	must(t, "average", filepath.Join(saved, "rec_go_epochs.npy"), filepath.Join(saved, "rec_stop_epochs.npy"),
		"--exclude", decisions, "-o", again)
	got := info(t, filepath.Join(again, "rec_go_average.json"))
	if got.Epochs.Kept != i.Epochs.Kept || got.Epochs.Rejected["excluded: moved"] != 1 {
		t.Errorf("%+v, want %+v", got.Epochs, i.Epochs)
	}
	strangers := writeFile(t, filepath.Join(dir, "strangers.tsv"), "file\tonset\nother.edf\t1\n")
	_, stderr, code := calotte("average", path, "--condition", "go=go", "--exclude", strangers, "-q", "-o",
		filepath.Join(dir, "noted"))
	if code != console.OK || !strings.Contains(stderr, "warning: ") ||
		!strings.Contains(stderr, "strangers.tsv holds 1 decision, none of them about rec.edf") {
		t.Errorf("exit %d: %s", code, stderr)
	}
}

// A run into the folder of another does not mix with it.
func TestRunsIntoOneFolderDoNotMix(t *testing.T) {
	dir := t.TempDir()
	out := savedSession(t, dir)
	again := []string{"average", filepath.Join(dir, "rec.edf"), "--condition", "go=go", "--epoch", "0..400ms",
		"--baseline", "none", "-o", out}
	if _, stderr, code := calotte(again...); code != console.Failed || !strings.Contains(stderr, "--force") {
		t.Errorf("exit %d: %s", code, stderr)
	}
	must(t, append(again, "--force")...)
	var left []string
	for _, path := range listing(t, out) {
		if strings.Contains(filepath.Base(path), "_go_") {
			left = append(left, filepath.Base(path))
		}
	}
	if want := []string{"rec_go_average.json", "rec_go_average.tsv", "rec_go_pairs.tsv",
		"rec_go_sem.tsv"}; !slices.Equal(left, want) {
		t.Errorf("the folder holds %v, want %v: epochs of the first run are not those of the second", left,
			want)
	}
	if e, _, err := archive.LoadEpochs(filepath.Join(out, "rec_stop_average.tsv")); err != nil || e.Len() == 0 {
		t.Errorf("the other condition's epochs: %v", err)
	}
}

// An error on the way leaves nothing of the epochs that were spooled.
func TestFailedRunLeavesNoEpochs(t *testing.T) {
	dir := t.TempDir()
	path := sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf"))
	for _, flags := range [][]string{
		{"--minimum", "100"},
		{"--condition", "stop=stop and time:0s..1s", "--minimum", "5"},
	} {
		out := filepath.Join(dir, "out")
		_, stderr, code := calotte(append([]string{"average", path, "--condition", "go=go", "--save-epochs",
			"-o",
			out},
			flags...)...)
		if code != console.Failed || !strings.Contains(stderr, "minimum") {
			t.Errorf("exit %d: %s", code, stderr)
		}
		if left := listing(t, dir); len(left) != 1 {
			t.Errorf("left behind: %v", left)
		}
	}
}

// An interrupt leaves nothing either.
func TestInterruptLeavesNoEpochs(t *testing.T) {
	dir := t.TempDir()
	path := sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf"))
	saved := savedSession(t, t.TempDir())
	for _, args := range [][]string{
		{"average", path, "--condition", "go=go", "--save-epochs", "-o", filepath.Join(dir, "out")},
		{"average", filepath.Join(saved, "rec_go_epochs.npy"), "--save-epochs", "-o",
			filepath.Join(dir, "out")},
	} {
		ctx, cancel := context.WithCancel(context.Background())
		cancel()
		err := run(ctx, args, strings.NewReader(""), io.Discard, io.Discard)
		if code := console.Report(io.Discard, err); code != console.Interrupted {
			t.Errorf("exit %d: %v", code, err)
		}
		if left := listing(t, dir); len(left) != 1 {
			t.Errorf("left behind: %v", left)
		}
	}
}

func TestEpochMistakes(t *testing.T) {
	const usage, failed = console.Misused, console.Failed
	good := func(t *testing.T, dir string) string {
		return sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf"))
	}
	saved := func(t *testing.T, dir string) string {
		return filepath.Join(savedSession(t, dir), "rec_go_epochs.npy")
	}
	bare := func(t *testing.T, dir string) string {
		b, err := os.ReadFile(saved(t, dir))
		if err != nil {
			t.Fatal(err)
		}
		return writeFile(t, filepath.Join(dir, "own.npy"), string(b))
	}
	decisions := func(text string) func(t *testing.T, dir string) string {
		return func(t *testing.T, dir string) string {
			writeFile(t, filepath.Join(dir, "d.tsv"), text)
			return good(t, dir)
		}
	}
	const sites = "--sites Fz,C3,Cz,C4,Pz,P7,P8,Oz "
	for _, c := range []mistake{
		{"epochs and a recording", saved, "average FILE DIR/rec.edf -o OUT", usage,
			[]string{"rec.edf is a recording"}},
		{"epochs twice", saved, "average FILE FILE -o OUT", usage, []string{"given twice"}},
		{"filter of epochs", saved, "average FILE --highpass 1Hz -o OUT", usage,
			[]string{"--highpass", "cut already"}},
		{"epoch of epochs", saved, "average FILE --epoch 0..100ms --baseline none -o OUT", usage,
			[]string{"--epoch", "cut already"}},
		{"condition of epochs", saved, "average FILE --condition a=go -o OUT", usage, []string{"--condition"}},
		{"blinks of epochs", saved, "average FILE --blinks VEOG -o OUT", usage, []string{"--blinks"}},
		{"robust limits of few epochs", saved, "average FILE --reject robust -o OUT", failed,
			[]string{"9 epochs are too few"}},
		{"sites of saved epochs", saved, "average FILE --sites Fz -o OUT", usage,
			[]string{"--sites", "rec_go_epochs.npy say it already"}},
		{"baseline outside saved epochs", saved, "average FILE --baseline -200..0ms -o OUT", failed,
			[]string{"baseline", "-100ms..400ms"}},
		{"repair of a site that the epochs lack", saved, "average FILE --repair AF7 -o OUT", failed,
			[]string{"AF7"}},
		{"bare epochs", bare, "average FILE -o OUT", usage,
			[]string{"own.npy", "--sites", "--rate", "--first"}},
		{"bare epochs without rate", bare, "average FILE " + sites + "--first -100ms -o OUT", usage,
			[]string{"--rate"}},
		{"too few sites", bare, "average FILE --sites Fz,Cz --rate 100Hz --first -100ms -o OUT", failed,
			[]string{"own.npy", "8 × 51", "names 2"}},
		{"a site twice", bare, "average FILE --sites Fz,Fz --rate 100Hz --first -100ms -o OUT", usage,
			[]string{"Fz is given twice"}},
		{"a rate of zero", bare, "average FILE " + sites + "--rate 0Hz --first -100ms -o OUT", usage,
			[]string{"--rate"}},
		{"a time between samples", bare, "average FILE " + sites + "--rate 100Hz --first -103ms -o OUT", failed,
			[]string{"100Hz", "-103ms"}},
		{"sites of a recording", good, "average FILE --condition a=go --sites Fz -o OUT", usage,
			[]string{"--sites"}},
		{"array cut short", func(t *testing.T, dir string) string {
			path := bare(t, dir)
			if err := os.Truncate(path, 3000); err != nil {
				t.Fatal(err)
			}
			return path
		}, "average FILE " + sites + "--rate 100Hz --first -100ms -o OUT", failed,
			[]string{"own.npy", "cut short"}},
		{"array in volts", func(t *testing.T, dir string) string {
			path := bare(t, dir)
			b, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			// the exponents of float32: divided by 2^20, which is
			// near 10^6
			for i := 131; i < len(b); i += 4 {
				if b[i]&0x7f >= 10 {
					b[i] -= 10
				}
			}
			return writeFile(t, path, string(b))
		}, "average FILE " + sites + "--rate 100Hz --first -100ms -o OUT", failed, []string{"volts"}},
		{"text as array", func(t *testing.T, dir string) string {
			return writeFile(t, filepath.Join(dir, "own.npy"),
				"no array")
		},
			"average FILE " + sites + "--rate 100Hz --first -100ms -o OUT", failed,
			[]string{"own.npy", "no NumPy array"}},
		{"changed epochs", func(t *testing.T, dir string) string {
			path := saved(t, dir)
			b, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			b[len(b)-1] ^= 1
			return writeFile(t, path, string(b))
		}, "average FILE -o OUT", failed, []string{"rec_go_epochs.npy", "rec_go_average.json"}},

		{"no decisions", good, "average FILE --condition a=go --exclude DIR/none.tsv -o OUT", failed,
			[]string{"none.tsv", "check the name"}},
		{"decision about no event", decisions("file\tonset\nrec.edf\t3.2\n"),
			"average FILE --condition a=go --exclude DIR/d.tsv -o OUT", failed,
			[]string{"rec.edf at 3.2 s", "no such event"}},
		{"decision about no electrode", decisions("file\tonset\telectrode\nrec.edf\t3\tAF7\n"),
			"average FILE --condition a=go --exclude DIR/d.tsv -o OUT", failed,
			[]string{"rec.edf at 3 s, AF7"}},
		{"decision without onset", decisions("file\tonset\nrec.edf\t\n"),
			"average FILE --condition a=go --exclude DIR/d.tsv -o OUT", failed,
			[]string{"d.tsv", "line 2", "onset"}},
		{"decisions with other columns", decisions("name\ttime\nrec.edf\t3\n"),
			"average FILE --condition a=go --exclude DIR/d.tsv -o OUT", failed,
			[]string{"d.tsv", "line 1", `"file"`}},
		{"output over the decisions", decisions("file\tonset\nrec.edf\t3\n"),
			"average FILE --condition a=go --exclude DIR/d.tsv --name=d -o DIR/rec.edf", failed,
			[]string{"not a folder"}},
		{"unknown eye channel", good, "average FILE --condition a=go --blinks VEOG -o OUT", failed,
			[]string{"VEOG"}},
		{"step over nothing", good, "average FILE --condition a=go --reject-step 0uV -o OUT", usage,
			[]string{"--reject-step"}},
		{"time of a step without its size", good, "average FILE --condition a=go --step-over 100ms -o OUT",
			usage,
			[]string{"--reject-step"}},
		{"flat without unit", good, "average FILE --condition a=go --reject-flat 100 -o OUT", usage,
			[]string{"no unit"}},
		{"negative minimum", good, "average FILE --condition a=go --minimum -3 -o OUT", usage,
			[]string{"--minimum"}},
		{"window outside the epoch", good, "average FILE --condition a=go --sme 700..900ms -o OUT", failed,
			[]string{"700..900ms", "-200ms..800ms"}},
		{"window backwards", good, "average FILE --condition a=go --sme 300..100ms -o OUT", usage,
			[]string{"--sme"}},
		{"lock without responses", good, "average FILE --condition a=go --lock response -o OUT", usage,
			[]string{"--response"}},
		{"response that never comes", good, "average FILE --condition a=go --response button -o OUT", failed,
			[]string{"button"}},
		{"restored site that was recorded", good, "average FILE --condition a=go --restore-reference Cz -o OUT",
			failed,
			[]string{"Cz was recorded"}},
		{"trigger without unit", good, "average FILE --condition a=go --after-trigger 12 -o OUT", usage,
			[]string{"--after-trigger", "no unit"}},
	} {
		t.Run(strings.ReplaceAll(c.name, " ", "_"), c.check)
	}
}
