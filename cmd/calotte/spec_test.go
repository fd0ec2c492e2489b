package main

import (
	"bytes"
	"context"
	"encoding/json"
	"image"
	"os"
	"path/filepath"
	"strings"
	"testing"

	_ "golang.org/x/image/tiff"
)

const windowsTable = "name\twindow\nearly\t50..90ms\nlate\t100..200ms\n"

// drawn is the folder of an average, declared windows and marks.
func drawnFolder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	writeFile(t, filepath.Join(dir, "own.tsv"), averageTable(tableHeader, wave))
	writeFile(t, filepath.Join(dir, "windows.tsv"), windowsTable)
	writeFile(t, filepath.Join(dir, "marks.tsv"), "site\tfrom\tto\nCz\t0.1\t0.2\n")
	return dir
}

// A spec makes the figure that its flags make, and its SHA-256 goes into the
// figure.
func TestSpec(t *testing.T) {
	dir := drawnFolder(t)
	spec := writeFile(t, filepath.Join(dir, "sheet.yaml"),
		"# maps\nfigure: map\ninputs: [own.tsv]\nwindows: windows.tsv\nview: [top, left]\nwidth: "+
			"114mm\nlabels: "+
			"true\nmark: marks.tsv\ndoubt: 2sem\n")
	one, two := filepath.Join(dir, "one.svg"), filepath.Join(dir, "two.svg")
	if err := calotteFails("map", "--spec", spec, "-o",
		one); !strings.Contains(err, "errors need") {
		t.Errorf("doubt without people: %s", err)
	}
	writeFile(t, spec, "figure: map\ninputs: [own.tsv]\nwindows: windows.tsv\nview: [top, left]\nwidth: 114mm\n"+
		"labels: true\nmark: marks.tsv\n")
	must(t, "map", "--spec", spec, "-o", one)
	must(t, "map", filepath.Join(dir, "own.tsv"), "--windows", filepath.Join(dir, "windows.tsv"), "--mark",
		filepath.Join(dir, "marks.tsv"),
		"--view", "top,left", "--width", "114mm", "--labels", "-o", two)
	figure := func(path string) string {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		_, rest, ok := strings.Cut(string(text), "</metadata>")
		if !ok {
			t.Fatalf("%s has no metadata", path)
		}
		return rest
	}
	if figure(one) != figure(two) {
		t.Error("the spec draws another figure than its flags")
	}
	for _, want := range []string{"early, 50–90 ms", "late, 100–200 ms",
		"listed in marks.tsv; no test, uncorrected",
		"Windows declared in windows.tsv"} {
		if text := figure(one); !strings.Contains(strings.ReplaceAll(text, "\u00a0", " "), want) &&
			!strings.Contains(plainText(text), want) {
			t.Errorf("the figure does not say %q", want)
		}
	}
	if text := must(t, "origin",
		one); !strings.Contains(text, "sheet.yaml") || !strings.Contains(text, "windows.tsv") ||
		!strings.Contains(text, "marks.tsv") {
		t.Errorf("what the figure is made of:\n%s", text)
	}
	if text := must(t, "origin", "--redo", one, two); strings.Count(text, "the same bytes") != 2 {
		t.Errorf("done again:\n%s", text)
	}
	must(t, "map", "--spec", spec, "--width", "85mm", "-o", one, "--force") // the command line counts more
	if text := must(t, "origin", one); !strings.Contains(text, "--width 85mm") {
		t.Errorf("the width of the command line is not kept:\n%s", text)
	}
}

// plainText is the words of an SVG in a line.
func plainText(svg string) string {
	var b strings.Builder
	for _, part := range strings.Split(svg, "<text")[1:] {
		_, rest, _ := strings.Cut(part, ">")
		text, _, _ := strings.Cut(rest, "</text>")
		b.WriteString(strings.ReplaceAll(text, "\u00a0", " ") + " ")
	}
	return b.String()
}

// calotteFails is the error that a command line ends in.
func calotteFails(args ...string) string {
	var out, errs bytes.Buffer
	if err := run(context.Background(), args, strings.NewReader(""), &out, &errs); err != nil {
		return err.Error()
	}
	return ""
}

func TestSpecSchema(t *testing.T) {
	for _, verb := range []string{"map", "traces"} {
		var schema struct {
			Properties map[string]any
			Required   []string
			Additional *bool `json:"additionalProperties"`
		}
		if err := json.Unmarshal([]byte(must(t, verb, "--spec-schema")), &schema); err != nil {
			t.Fatal(err)
		}
		for _, key := range []string{"figure", "inputs", "windows", "width", "head"} {
			if schema.Properties[key] == nil {
				t.Errorf("%s: the schema has no %s", verb, key)
			}
		}
		if schema.Additional == nil || *schema.Additional || schema.Properties["output"] != nil ||
			schema.Properties["jobs"] != nil {
			t.Errorf("%s: %+v", verb, schema)
		}
	}
}

func TestSpecMistakes(t *testing.T) {
	for _, m := range []mistake{
		{"unknown key", table("s.yaml", "figure: map\ninputs: a.tsv\ncolor: red\n"),
			"map --spec FILE -o OUT.png",
			failed, []string{"s.yaml, line 3", `no key "color"`, "palette"}},
		{"wrong unit", table("s.yaml", "figure: map\ninputs: a.tsv\nat: [170ms, 170]\n"),
			"map --spec FILE -o OUT.png",
			failed, []string{"s.yaml, line 3", "at: ", "no unit"}},
		{"unit of another kind", table("s.yaml", "figure: map\ninputs: a.tsv\n\nwidth: 18uV\n"),
			"map --spec FILE -o OUT.png", failed, []string{"line 4", "width: ", "expected a length"}},
		{"another figure", table("s.yaml", "figure: traces\ninputs: a.tsv\n"), "map --spec FILE -o OUT.png",
			failed,
			[]string{"line 1", `figure is "traces"`, "calotte map"}},
		{"no figure", table("s.yaml", "inputs: a.tsv\n"), "map --spec FILE -o OUT.png", failed,
			[]string{"figure: map"}},
		{"no inputs", table("s.yaml", "figure: map\nat: 170ms\n"), "map --spec FILE -o OUT.png", usage,
			[]string{"needs averages"}},
		{"key twice", table("s.yaml", "figure: map\nat: 1ms\nat: 2ms\n"), "map --spec FILE -o OUT.png", failed,
			[]string{"s.yaml: line 3: no YAML", `"at"`}},
		{"list", table("s.yaml", "- figure: map\n"), "map --spec FILE -o OUT.png", failed,
			[]string{"line 1", "keys with values"}},
		{"nested", table("s.yaml", "figure: map\nat:\n  from: 1ms\n"), "map --spec FILE -o OUT.png", failed,
			[]string{"line 3", "a text, a number"}},
		{"empty", table("s.yaml", ""), "map --spec FILE -o OUT.png", failed,
			[]string{"s.yaml is empty", "figure: map"}},
		{"broken", table("s.yaml", "figure: [map\n"), "map --spec FILE -o OUT.png", failed,
			[]string{"s.yaml: line 1: no YAML"}},
		{"anchors", table("s.yaml", "figure: map\ninputs: &a b.tsv\nat: *a\n"), "map --spec FILE -o OUT.png",
			failed,
			[]string{"line 2", "& names a value", "in quotes"}},
		{"brackets", table("s.yaml", "figure: map\nat: "+strings.Repeat("[", 60_000)+"\n"),
			"map --spec FILE -o OUT.png", failed, []string{"s.yaml: line 2", "16 deep"}},
		{"keys without end", table("s.yaml", strings.Repeat("k: 1\n", 10_001)), "map --spec FILE -o OUT.png",
			failed,
			[]string{"s.yaml: line 10001", "10000 keys"}},
		{"endless", table("s.yaml", strings.Repeat("#", 64<<10+1)), "map --spec FILE -o OUT.png", failed,
			[]string{"s.yaml: 65537 bytes"}},
		{"two documents", table("s.yaml", "figure: map\n---\nfigure: map\n"), "map --spec FILE -o OUT.png",
			failed,
			[]string{"second document"}},
		{"output inside", table("s.yaml", "figure: map\noutput: x.png\n"), "map --spec FILE -o OUT.png", failed,
			[]string{`no key "output"`}},
		{"global flag", table("s.yaml", "figure: map\njobs: 2\n"), "map --spec FILE -o OUT.png", failed,
			[]string{`no key "jobs"`}},
		{"input that is not there", table("s.yaml", "figure: map\ninputs: a.tsv\nat: 1ms\n"),
			"map --spec FILE -o OUT.png", failed, []string{"a.tsv"}},

		{"windows without unit", table("w.tsv", "name\twindow\nearly\t150..190\n"),
			"map DIR/x.tsv --windows FILE -o OUT.png", failed, []string{"w.tsv", "line 2", "150..190ms"}},
		{"marks that are no sites", table("m.tsv", "site\nQ9\n"),
			"map DIR/x.tsv --at 1ms --mark FILE -o OUT.png",
			failed, []string{"m.tsv", "line 2", `"Q9"`}},
		{"marks backwards", table("m.tsv", "site\tfrom\tto\nP7\t0.3\t0.1\n"),
			"map DIR/x.tsv --at 1ms --mark FILE -o OUT.png", failed,
			[]string{"m.tsv", "line 2", "the earlier one first"}},
		{"a mark of a site that is not there", table("own.tsv", averageTable(tableHeader, wave)),
			"map FILE --at 100ms --mark MARKS -o OUT.png", failed, []string{"MARKS"}},
		{"resolution of a drawing", table("own.tsv", averageTable(tableHeader, wave)),
			"map FILE --at 100ms --dpi 600 -o OUT.pdf", usage, []string{"--dpi", ".png"}},
		{"odd resolution", table("own.tsv", averageTable(tableHeader, wave)),
			"map FILE --at 100ms --dpi 450 -o OUT.png", usage, []string{"--dpi 450", "300, 600 or 1200"}},
		{"unknown view", table("own.tsv", averageTable(tableHeader, wave)),
			"map FILE --at 100ms --view below -o OUT.png", usage, []string{`"below"`, "top, left"}},
		{"a view twice", table("own.tsv", averageTable(tableHeader, wave)),
			"map FILE --at 100ms --view top,top -o OUT.png", usage, []string{"given twice"}},
		{"doubt without people", table("own.tsv", averageTable(tableHeader, wave)),
			"map FILE --at 100ms --doubt 2sem -o OUT.png", failed, []string{"own.tsv", "--save-epochs"}},
		{"doubt in bare errors", table("own.tsv", averageTable(tableHeader, wave)),
			"map FILE --at 100ms --doubt 2 -o OUT.png", usage,
			[]string{"--doubt", "2sem, 2interpolation or 2error"}},
		{"no doubt", table("own.tsv", averageTable(tableHeader, wave)),
			"map FILE --at 100ms --doubt NaNsem -o OUT.png", usage, []string{"--doubt", "2sem"}},
		{"csd of doubtful interpolation", table("own.tsv", averageTable(tableHeader, wave)),
			"map FILE --at 100ms --doubt 2error --field csd -o OUT.png", usage,
			[]string{"--doubt", "2sem"}},
		{"overhang over the whole head", table("own.tsv", averageTable(tableHeader, wave)),
			"map FILE --at 100ms --overhang 3m -o OUT.png", usage, []string{"--overhang", "200mm"}},
		{"a film of t", table("own.tsv", averageTable(tableHeader, wave)),
			"frames FILE --field t -o OUT.gif", usage,
			[]string{"--field t", "potential, interpolation or error"}},
		{"unknown form", table("own.tsv", averageTable(tableHeader, wave)),
			"map FILE --at 100ms --field-as stripes -o OUT.png", usage,
			[]string{"stripes", "shades or bands"}},
		{"doubt about t", table("own.tsv", averageTable(tableHeader, wave)),
			"map FILE --at 100ms --doubt 2sem --field t -o OUT.png", usage,
			[]string{"--doubt", "leave it out"}},
		{"maps without windows", table("own.tsv", averageTable(tableHeader, wave)),
			"traces FILE --maps -o OUT.png",
			usage, []string{"--window"}},
		{"redo of a foreign picture", table("x.png", "\x89PNG\r\n\x1a\n"), "origin FILE --redo", failed,
			[]string{"x.png"}},
	} {
		m.check(t)
	}
}

// What the tables of the numbers hold is what is drawn, and a TIFF is as large
// as asked.
func TestNumbersAndResolution(t *testing.T) {
	dir := drawnFolder(t)
	own, out := filepath.Join(dir, "own.tsv"), filepath.Join(dir, "out")
	must(t, "map", own, "--at", "100ms", "--dpi", "600", "--width", "85mm", "--source-data", out, "-o",
		filepath.Join(out, "m.tiff"))
	file, err := os.Open(filepath.Join(out, "m.tiff"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	config, kind, err := image.DecodeConfig(file)
	if err != nil || kind != "tiff" || config.Width != 2008 {
		t.Errorf("%+v, %s, %v: want 85 mm at 600 dots per inch, 2008 pixels", config, kind, err)
	}
	text, err := os.ReadFile(filepath.Join(out, "m_sites.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	if lines := strings.Split(strings.TrimSpace(string(text)),
		"\n"); len(lines) != len(strings.Split(tableHeader, "\t")) ||
		!strings.HasPrefix(lines[0], "row\tat\tname") {
		t.Errorf("numbers at the sites:\n%s", text)
	}
	if !strings.HasSuffix(strings.TrimSpace(string(text)), "\tpotential, µV") {
		t.Errorf("the table does not say of what its values are:\n%s", text)
	}
	must(t, "map", own, "--at", "100ms", "--field", "csd", "--source-data", out, "-o", filepath.Join(out, "c.png"))
	if field := readText(t, filepath.Join(out, "c_field.tsv")); !strings.HasSuffix(strings.TrimSpace(field),
		"\tcsd, µV/cm²") {
		t.Errorf("the drawn field is not named: …%s", field[len(field)-60:])
	}
	must(t, "traces", own, "--arrange", "scalp", "--source-data", out, "-o", filepath.Join(out, "t.png"))
	if text, err = os.ReadFile(filepath.Join(out, "t_curves.tsv")); err != nil ||
		!strings.HasPrefix(string(text), "panel\tcurve\ttime\tvalue\tlow\thigh\nFz\t") {
		t.Errorf("numbers of the curves: %v\n%.200s", err, text)
	}
	must(t, "traces", own, "--maps", "--windows", filepath.Join(dir, "windows.tsv"), "-o",
		filepath.Join(out, "h.svg"))
	must(t, "origin", filepath.Join(out, "h.svg"), filepath.Join(out, "t.png"), filepath.Join(out, "m.tiff"),
		"--in",
		dir, "--redo")
}
