package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/console"
)

// Every mistake gets one line that says what and where, the right exit code,
// and leaves no file behind.
func TestMistakes(t *testing.T) {
	good := func(t *testing.T, dir string) string {
		return sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf"))
	}
	plain := table("own.tsv", averageTable(tableHeader, wave))
	const signals = 9 // eight sites and the annotations
	digitalMax := 256 + signals*(16+80+8+8+8+8)
	for _, c := range []mistake{
		{"unknown verb", plain, "maps FILE", usage, []string{`"maps"`, "--help"}},
		{"unknown flag", plain, "map FILE --colour red -o OUT.png", usage, []string{"--colour", "map --help"}},

		{"no recording", plain, "average -o OUT", usage, []string{"one recording or more"}},
		{"missing recording", plain, "average nowhere.edf --condition a=go -o OUT", failed,
			[]string{"nowhere.edf", "check the name"}},
		{"folder as recording", plain, "average DIR --condition a=go -o OUT", failed,
			[]string{"no folder sub-", "expected the folder of a BIDS data set"}},
		{"device as recording", plain, "average /dev/zero --condition a=go -o OUT", failed,
			[]string{"/dev/zero", "device or a pipe"}},
		{"table as recording", plain, "average FILE --condition a=go -o OUT", failed,
			[]string{"own.tsv", "this is a table", "map and values"}},
		{"PDF as recording", table("rec.edf", "%PDF-1.7 and so on"), "average FILE --condition a=go -o OUT",
			failed,
			[]string{"rec.edf", "this is a PDF"}},
		{"empty recording", table("rec.edf", ""), "average FILE --condition a=go -o OUT", failed,
			[]string{"rec.edf", "byte 0"}},
		{"text as recording", table("rec.edf", strings.Repeat("no recording ", 60)),
			"average FILE --condition a=go -o OUT", failed, []string{"rec.edf", "version"}},
		{"truncated recording", edf(sessionFile{events: true,
			change: func(b []byte) []byte { return b[:len(b)-3000] }}),
			"average FILE --condition a=go -o OUT", failed,
			[]string{"rec.edf", "shorter than its header says", "--allow-truncated uses 8 records"}},
		{"more bytes than the header says",
			edf(sessionFile{events: true,
				change: func(b []byte) []byte { return append(b, make([]byte, 5000)...) }}),
			"average FILE --condition a=go -o OUT", failed,
			[]string{"rec.edf", "longer than its header says", "--allow-truncated uses 10 records"}},
		{"digital minimum is maximum", edf(sessionFile{events: true, change: field(digitalMax, 8, "-32768")}),
			"average FILE --condition a=go -o OUT", failed, []string{"rec.edf", "digital"}},
		{"record of zero seconds", edf(sessionFile{events: true, change: field(244, 8, "0")}),
			"average FILE --condition a=go -o OUT", failed, []string{"rec.edf", "duration"}},
		{"record of negative seconds", edf(sessionFile{events: true, change: field(244, 8, "-1")}),
			"average FILE --condition a=go -o OUT", failed, []string{"rec.edf", "duration"}},
		{"decimal comma in the header", edf(sessionFile{events: true, change: field(244, 8, "1,0")}),
			"average FILE --condition a=go -o OUT", failed, []string{"rec.edf", "1,0"}},
		{"no condition", good, "average FILE -o OUT", usage, []string{"--condition", "go (10)", "stop (10)"}},
		{"condition without label", good, "average FILE --condition known -o OUT", usage,
			[]string{"NAME=LABEL"}},
		{"condition with a hyphen", good, "average FILE --condition a-b=go -o OUT", usage,
			[]string{"'-'", "letters and digits"}},
		{"conditions of one name", good, "average FILE --condition a=go --condition A=stop -o OUT", usage,
			[]string{`"A"`, "comma"}},
		{"no such event", good, "average FILE --condition a=og -o OUT", failed, []string{`"og"`, "go (10)"}},
		{"no annotations", edf(sessionFile{}), "average FILE --condition a=go -o OUT", failed,
			[]string{"no events"}},
		{"baseline outside the epoch", good, "average FILE --condition a=go --baseline -500..0ms -o OUT",
			failed,
			[]string{"baseline", "-200ms..800ms"}},
		{"default baseline of an epoch after the event", good,
			"average FILE --condition a=go --epoch 50..800ms -o OUT",
			usage, []string{"50..800ms", "--baseline none"}},
		{"baseline of an epoch after the event", good,
			"average FILE --condition a=go --epoch 50..800ms --baseline -100..0ms -o OUT", failed,
			[]string{"after the event", "50ms..800ms"}},
		{"rejection above zero", good, "average FILE --condition a=go --reject 0uV -o OUT", usage,
			[]string{"0uV", "--reject", "150uV"}},
		{"rejection above less than zero", good, "average FILE --condition a=go --reject -5uV -o OUT", usage,
			[]string{"-5uV", "--reject"}},
		{"rejection above volts", good, "average FILE --condition a=go --reject 150V -o OUT", usage,
			[]string{"150000000uV", "150uV"}},
		{"misspelt flag", good, "average FILE --condition a=go --refrence average -o OUT", usage,
			[]string{"did you mean --reference?"}},
		{"seconds without unit", good, "average FILE --condition a=go --epoch -0.2..0.6 -o OUT", usage,
			[]string{"0.6s"}},
		{"empty name", good, "average FILE --condition a=go --name= -o OUT", usage, []string{"--name"}},
		{"name with a hyphen first", good, "average FILE --condition a=go --name=-rf -o OUT", usage,
			[]string{"--name", "hyphen"}},
		{"name with a colon", good, "average FILE --condition a=go --name=a:b -o OUT", usage,
			[]string{"--name", "letters, digits"}},
		{"repair of a mastoid", good, "average FILE --condition a=go --repair M1 -o OUT", usage,
			[]string{"mastoid M1"}},
		{"repair of a site twice", good, "average FILE --condition a=go --repair P7 --repair T5 -o OUT", usage,
			[]string{"P7 is given twice"}},
		{"repair of each epoch without a share", good, "average FILE --condition a=go --repair each=0% -o OUT",
			usage,
			[]string{"each=0%", "each=5%"}},
		{"repair of each epoch at few sites", good, "average FILE --condition a=go --repair each=20% -o OUT",
			failed,
			[]string{"8 sites are too few", "16 or more"}},
		{"head without repair", good, "average FILE --condition a=go --circumference 560mm -o OUT", usage,
			[]string{"--circumference", "--repair"}},
		{"volts in a header of microvolts", edf(sessionFile{events: true, change: limits("0.0001")}),
			"average FILE --condition a=go -o OUT", failed, []string{"rec.edf", "volts", "header"}},
		{"limits that no electrode reaches", edf(sessionFile{events: true, change: limits("1e300")}),
			"average FILE --condition a=go -o OUT", failed, []string{"rec.edf", "µV", "header"}},
		{"epoch longer than the data", good, "average FILE --condition a=go --epoch -20..20s -o OUT", failed,
			[]string{"none of its 10 epochs", "outside the data"}},
		{"epoch backwards", good, "average FILE --condition a=go --epoch 800..-200ms -o OUT", usage,
			[]string{"backwards"}},
		{"epoch without unit", good, "average FILE --condition a=go --epoch -200..800 -o OUT", usage,
			[]string{"no unit"}},
		{"everything rejected", good, "average FILE --condition a=go --reject 1nV -o OUT", failed,
			[]string{"peak to peak"}},
		{"filter upside down", good, "average FILE --condition a=go --highpass 30Hz --lowpass 1Hz -o OUT",
			usage,
			[]string{"--highpass", "lower"}},
		{"filter of nothing", good, "average FILE --condition a=go --notch 0Hz -o OUT", usage,
			[]string{"--notch"}},
		{"filter without unit", good, "average FILE --condition a=go --lowpass 30 -o OUT", usage,
			[]string{"30Hz"}},
		{"filter above the rate", good, "average FILE --condition a=go --lowpass 60Hz -o OUT", failed,
			[]string{"rec.edf", "60"}},
		{"filter longer than the data", good, "average FILE --condition a=go --highpass 0.1Hz -o OUT", failed,
			[]string{"rec.edf"}},
		{"unknown reference", good, "average FILE --condition a=go --reference Cx -o OUT", usage,
			[]string{`"Cx"`, "Cz"}},
		{"reference that was not recorded", good, "average FILE --condition a=go --reference M1 -o OUT", failed,
			[]string{"M1", "Fz C3"}},
		{"repair of a site that is not there", good, "average FILE --condition a=go --repair F7 -o OUT", failed,
			[]string{"F7"}},
		{"labels that are no sites", edf(sessionFile{events: true, labels: []string{"P77", "XX"}}),
			"average FILE --condition a=go -o OUT", failed, []string{`"P77"`, "P7"}},
		{"a site twice", edf(sessionFile{events: true, labels: []string{"T3", "T7", "Cz"}}),
			"average FILE --condition a=go -o OUT", failed, []string{`"T3"`, `"T7"`, "same site"}},
		{"ears of either side", edf(sessionFile{events: true, labels: []string{"EEG P7-A1", "EEG P8-A2"}}),
			"average FILE --condition a=go -o OUT", failed, []string{"different references"}},
		{"temperature", edf(sessionFile{events: true, unit: "degC"}),
			"average FILE --condition a=go -o OUT", failed, []string{`"degC"`, "µV"}},
		{"no output folder", good, "average FILE --condition a=go", usage, []string{"--output", "-o averages"}},
		{"output below a file", good, "average FILE --condition a=go -o FILE/x", failed,
			[]string{"a file, not a folder"}},

		{"no averages", plain, "map --at 100ms -o OUT.png", usage, []string{"averages"}},
		{"no latency", plain, "map FILE -o OUT.png", usage, []string{"--at", "--at 100ms,170ms"}},
		{"latency without unit", plain, "map FILE --at 170 -o OUT.png", usage, []string{"no unit", "170ms"}},
		{"latency with a comma", plain, "map FILE --at 0,17s -o OUT.png", usage,
			[]string{"decimals take a point"}},
		{"latency outside", plain, "map FILE --at 900ms -o OUT.png", failed,
			[]string{"own.tsv", "900 ms", "−100 to 400 ms"}},
		{"window outside", plain, "map FILE --at 300..500ms -o OUT.png", failed,
			[]string{"300–500 ms", "outside"}},
		{"window between two samples", plain, "map FILE --at 101..109ms -o OUT.png", failed,
			[]string{"no sample"}},
		{"unknown ending", plain, "map FILE --at 100ms -o OUT.bmp", usage, []string{"bmp", "svg"}},
		{"limit without unit", plain, "map FILE --at 100ms --limit 8 -o OUT.png", usage,
			[]string{"--limit", "8uV"}},
		{"limit of zero", plain, "map FILE --at 100ms --limit 0uV -o OUT.png", usage, []string{"more than 0"}},
		{"limit of a potential for csd", plain, "map FILE --at 100ms --field csd --limit 8uV -o OUT.png", usage,
			[]string{"uV/cm2"}},
		{"unknown field", plain, "map FILE --at 100ms --field power -o OUT.png", usage,
			[]string{"potential, csd, t, sem, agreement, interpolation or error"}},
		{"order of the spline", plain, "map FILE --at 100ms --spline-order 9 -o OUT.png", usage,
			[]string{"--spline-order 9", "3 to 6"}},
		{"negative smoothing", plain, "map FILE --at 100ms --spline-smoothing -1 -o OUT.png", usage,
			[]string{"--spline-smoothing", "zero, a small positive number"}},
		{"narrow figure", plain, "map FILE --at 100ms --width 1mm -o OUT.png", usage,
			[]string{"--width 1mm", "40mm to 400mm"}},
		{"wide figure", plain, "map FILE --at 100ms --width 2m -o OUT.png", usage, []string{"--width 2000mm"}},
		{"negative width", plain, "map FILE --at 100ms --width -80mm -o OUT.png", usage, []string{"--width"}},
		{"output over the input", plain, "map FILE --at 100ms -o FILE", usage, []string{".tsv"}},
		{"values over the input", plain, "values FILE --at 100ms -o FILE --force", failed,
			[]string{"is an input"}},
		{"one table twice", plain, "map FILE FILE --at 100ms -o OUT.png", usage, []string{"given twice"}},

		{"format and ending that disagree", plain, "values FILE --at 100ms --format tsv -o OUT.json", usage,
			[]string{"--format tsv", "leave --format out"}},
		{"device as table", plain, "values /dev/zero --at 100ms", failed,
			[]string{"/dev/zero", "device or a pipe"}},
		{"folder as table", plain, "map DIR --at 100ms -o OUT.png", failed, []string{"is a folder"}},
		{"recording as table", good, "map FILE --at 100ms -o OUT.png", failed,
			[]string{"rec.edf", "is a recording", "average it first"}},
		{"PDF as table", table("own.tsv", "%PDF-1.7"), "map FILE --at 100ms -o OUT.png", failed,
			[]string{"own.tsv is a PDF"}},
		{"one table under two paths", plain, "values FILE DIR/./own.tsv --at 100ms", usage,
			[]string{"are one file"}},
		{"site that cannot be placed", plain, "values FILE --at 100ms --sites Cz,M1", usage,
			[]string{"mastoid M1"}},
		{"site asked for twice", plain, "values FILE --at 100ms --sites T7,T3", usage,
			[]string{"T7 is given twice"}},
		{"standard errors as average", table("x_sem.tsv", averageTable(tableHeader, wave)),
			"map FILE --at 100ms -o OUT.png", failed, []string{"standard errors", "x_average.tsv"}},
		{"pairs as average", table("x_pairs.tsv", averageTable(tableHeader, wave)), "values FILE --at 100ms",
			failed,
			[]string{"left-right differences", "x_average.tsv"}},
		{"description as average", table("x_average.json", "{}"), "map FILE --at 100ms -o OUT.png", failed,
			[]string{"x_average.tsv"}},
		{"empty table", table("own.tsv", ""), "map FILE --at 100ms -o OUT.png", failed,
			[]string{"own.tsv", "line 1", "empty"}},
		{"header only", table("own.tsv", tableHeader+"\n"), "map FILE --at 100ms -o OUT.png", failed,
			[]string{"own.tsv", "two or more"}},
		{"NaN", table("own.tsv", averageTable(tableHeader, func(i, j int) string {
			if i == 4 && j == 9 {
				return "NaN"
			}
			return wave(i, j)
		})), "map FILE --at 100ms -o OUT.png", failed, []string{"line 11", `"Pz"`, `"NaN"`, "finite"}},
		{"time backwards", table("own.tsv", "time\tFz\tCz\tPz\tOz\n0.01\t1\t2\t3\t4\n0\t1\t2\t3\t4\n"),
			"map FILE --at 0ms -o OUT.png", failed, []string{"line 3", "backwards"}},
		{"milliseconds as seconds",
			table("own.tsv", "time\tFz\tCz\tPz\tOz\n0\t1\t2\t3\t4\n4\t1\t2\t3\t4\n8\t1\t2\t3\t4\n"),
			"map FILE --at 0ms -o OUT.png", failed, []string{"time_ms"}},
		{"volts", table("own.tsv",
			averageTable(tableHeader, func(i, j int) string { return wave(i, j) + "e-6" })),
			"map FILE --at 100ms -o OUT.png", failed, []string{"volts"}},
		{"column that is no site",
			table("own.tsv", averageTable(strings.Replace(tableHeader, "P8", "P88", 1), wave)),
			"map FILE --at 100ms -o OUT.png", failed,
			[]string{"own.tsv", `"P88"`, "P8", "remove or rename the column"}},
		{"two columns of a site",
			table("own.tsv", averageTable(strings.Replace(tableHeader, "P8", "T5", 1), wave)),
			"map FILE --at 100ms -o OUT.png", failed, []string{"P7", "T5"}},
		{"three sites", table("own.tsv", "time\tFz\tCz\tPz\n0\t1\t2\t3\n0.01\t1\t2\t3\n"),
			"map FILE --at 0ms -o OUT.png", failed, []string{"3 sites", "at least 4"}},
		{"not UTF-8", table("own.tsv", "time\t\xff\xfe\tCz\n0\t1\t2\n0.01\t1\t2\n"),
			"map FILE --at 0ms -o OUT.png",
			failed, []string{"UTF-8"}},
		{"no time column", table("own.tsv", "Fz\tCz\tPz\tOz\n1\t2\t3\t4\n1\t2\t3\t4\n"),
			"map FILE --at 0ms -o OUT.png",
			failed, []string{"no time column", "rate"}},
		{"rate without unit", plain, "map FILE --at 0ms --rate 250 -o OUT.png", usage, []string{"250Hz"}},
		{"rate of zero", plain, "map FILE --at 0ms --rate 0Hz -o OUT.png", usage, []string{"rate"}},
		{"negative rate", plain, "map FILE --at 0ms --rate -250Hz -o OUT.png", usage, []string{"rate"}},
		{"rate and time column", plain, "map FILE --at 0ms --rate 250Hz -o OUT.png", failed,
			[]string{"time column"}},

		{"one participant", plain, "combine FILE -o OUT", failed, []string{"two participants"}},
		{"combine without output", plain, "combine FILE", usage, []string{"-o grand"}},
		{"difference of one", plain, "combine FILE --difference known -o OUT", usage, []string{"known,novel"}},
		{"difference of a condition that is not there", plain, "combine FILE --difference known,novel -o OUT",
			failed,
			[]string{`"known"`, "own"}},
		{"name with a slash", plain, "combine FILE --name a/b -o OUT", usage, []string{"--name"}},

		{"decimal comma", plain, "place --circumference 56,2cm -o OUT_electrodes.tsv", usage,
			[]string{"decimal comma", "56.2cm"}},
		{"small head", plain, "place --circumference 56mm -o OUT_electrodes.tsv", usage,
			[]string{"circumference", "56"}},
		{"impossible arcs", plain,
			"place --circumference 560mm --nasion-inion 365mm --ear-ear 200mm -o OUT_electrodes.tsv", usage,
			[]string{"ear"}},
		{"arcs without circumference", plain, "place --nasion-inion 365mm -o OUT_electrodes.tsv", usage,
			[]string{"circumference"}},
		{"one arc only", plain, "place --circumference 560mm --nasion-inion 365mm -o OUT_electrodes.tsv", usage,
			[]string{"ear"}},
		{"unknown site", plain, "place --sites F33 -o OUT_electrodes.tsv", usage, []string{`"F33"`, "F3"}},
		{"earlobe", plain, "place --sites A1 -o OUT_electrodes.tsv", usage, []string{"A1"}},
		{"centimetres without unit", plain, "place --circumference 56 -o OUT_electrodes.tsv", usage,
			[]string{"56cm"}},
		{"a system and a site", plain,
			"place --circumference 560mm --sites 10-20 --sites Cz -o OUT_electrodes.tsv",
			usage, []string{"one system, or sites"}},
		{"site twice", plain, "place --sites T7,T3 -o OUT_electrodes.tsv", usage, []string{"T7", "twice"}},
		{"name of the output", plain, "place -o OUT.tsv", usage, []string{"_electrodes.tsv"}},
		{"head file that is none", table("head.json", "{}"), "place --head FILE -o OUT_electrodes.tsv", failed,
			[]string{"head.json"}},
		{"head file and tape", table("head.json", "{}"),
			"place --head FILE --circumference 560mm -o OUT_electrodes.tsv", usage, []string{"keep one"}},
		{"argument to place", plain, "place FILE", usage, []string{"place"}},

		{"differences of what is not there", plain,
			"components FILE --window 0..100ms --difference sides,hands -o OUT.tsv", usage,
			[]string{"sides,hands", "expected conditions or sides, or two factors"}},
		{"two factors of one person", plain,
			"components FILE --window 0..100ms --difference sides,conditions -o OUT.tsv", failed,
			[]string{"own.tsv is no grand average"}},
		{"two factors of epochs", plain,
			"components FILE --window 0..100ms --difference sites,groups --each-epoch", usage,
			[]string{"--difference has a table of its own"}},
		{"arrangements of one factor", plain,
			"components FILE --window 0..100ms --difference sides --arrangements 500", usage,
			[]string{"--arrangements is for two factors", "sides,conditions"}},
		{"few arrangements", plain,
			"components FILE --window 0..100ms --difference sides,conditions --arrangements 5", usage,
			[]string{"--arrangements 5", "99 or more"}},
		{"many arrangements", plain,
			"components FILE --window 0..100ms --difference sides,conditions --arrangements 99999999",
			usage, []string{"99999999 arrangements", "at most 10000000"}},

		{"contents of nothing", plain, "contents", usage, []string{"a recording or an average"}},
		{"contents of a broken recording", table("rec.edf", "0       "), "contents FILE", failed,
			[]string{"rec.edf", "byte 8"}},
		{"demo into a folder with files", plain, "demo DIR", failed, []string{"not empty", "--force"}},
		{"demo into two folders", plain, "demo a b", usage, []string{"one folder"}},
		{"jobs", plain, "map FILE --at 100ms --jobs -1 -o OUT.png", usage, []string{"--jobs"}},
	} {
		t.Run(strings.ReplaceAll(c.name, " ", "_"), c.check)
	}
}

func TestExistingOutputNeedsForce(t *testing.T) {
	dir := t.TempDir()
	table := writeFile(t, filepath.Join(dir, "own.tsv"), averageTable(tableHeader, wave))
	out := writeFile(t, filepath.Join(dir, "map.svg"), "precious")
	args := []string{"map", table, "--at", "100ms", "-o", out}
	if _, stderr, code := calotte(args...); code != console.Failed || !strings.Contains(stderr, "--force") {
		t.Errorf("exit %d: %s", code, stderr)
	}
	if text, err := os.ReadFile(out); err != nil || string(text) != "precious" {
		t.Fatalf("the file was touched: %q (%v)", text, err)
	}
	must(t, append(args, "--force")...)
	if text, err := os.ReadFile(out); err != nil || !strings.Contains(string(text), "<svg") {
		t.Errorf("--force did not replace the file (%v)", err)
	}
}

func TestTruncatedRecordingOnRequest(t *testing.T) {
	dir := t.TempDir()
	path := sessionFile{events: true, change: func(b []byte) []byte { return b[:len(b)-3000] }}.write(t,
		filepath.Join(dir, "rec.edf"))
	out := must(t, "average", path, "--condition", "a=go", "--allow-truncated", "-o", filepath.Join(dir, "out"))
	if !strings.Contains(out, "epochs kept") {
		t.Errorf("%s", out)
	}
}

func TestDifferentPeopleNeedEach(t *testing.T) {
	dir := t.TempDir()
	a := sessionFile{events: true}.write(t, filepath.Join(dir, "sub-01_eeg.edf"))
	b := sessionFile{events: true, patient: "X X X N_N"}.write(t, filepath.Join(dir, "sub-02_eeg.edf"))
	c := sessionFile{events: true, patient: "P7 X X X"}.write(t, filepath.Join(dir, "c.edf"))
	d := sessionFile{events: true, patient: "P8 X X X"}.write(t, filepath.Join(dir, "d.edf"))
	for _, pair := range [][2]string{{a, b}, {c, d}, {a, c}} {
		args := []string{"average", pair[0], pair[1], "--condition", "a=go", "-o", filepath.Join(dir, "out")}
		_, stderr, code := calotte(args...)
		if code != console.Misused || !strings.Contains(stderr, "--each") {
			t.Errorf("%v: exit %d: %s", pair, code, stderr)
		}
		if strings.Contains(stderr, "P7 X") || strings.Contains(stderr, "P8 X") {
			t.Errorf("the patient's text is shown: %s", stderr)
		}
	}
	out := must(t, "average", a, b, "--condition", "a=go", "--each", "-o", filepath.Join(dir, "out"))
	for _, name := range []string{"sub-01_a_average.tsv", "sub-02_a_average.tsv"} {
		if _, err := os.Stat(filepath.Join(dir, "out", name)); err != nil {
			t.Errorf("%v\n%s", err, out)
		}
	}
}
