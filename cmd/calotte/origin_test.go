package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// From a figure over an average to the recording, and what becomes of each step
// when a file changes or goes.
func TestOrigin(t *testing.T) {
	dir := t.TempDir()
	rec := sessionFile{events: true}.write(t, filepath.Join(dir, "recordings", "rec.edf"))
	averages := filepath.Join(dir, "averages")
	must(t, "average", rec, "--condition", "go=go", "--epoch", "-100..300ms", "-o", averages)
	average := filepath.Join(averages, "rec_go_average.tsv")
	look := func(args ...string) string { return must(t, append([]string{"origin"}, args...)...) }
	for _, ending := range []string{"png", "svg", "pdf"} {
		figure := filepath.Join(dir, "figures", "map."+ending)
		must(t, "map", average, "--at", "100ms", "-o", figure)
		text := look(figure, "--in", averages, "--in", filepath.Dir(rec))
		for _, want := range []string{"map." + ending + "\n", "map --at 100ms", "  rec_go_average.tsv",
			"average --baseline", "    rec.edf", "--condition go=go"} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: %q is not said:\n%s", ending, want, text)
			}
		}
		if !strings.Contains(text, "files: 2 unchanged\n") {
			t.Errorf("%s: want two unchanged inputs:\n%s", ending, text)
		}
		if text := look(figure); !strings.Contains(text, "not here") || strings.Contains(text, "rec.edf") {
			t.Errorf("%s: without folders:\n%s", ending, text)
		}
	}
	if text := look(average, "--in", filepath.Dir(rec)); !strings.Contains(text, "files: 2 unchanged\n") {
		t.Errorf("the table and its recording are unchanged:\n%s", text)
	}
	b, err := os.ReadFile(rec)
	if err != nil {
		t.Fatal(err)
	}
	b[len(b)-1] ^= 1
	if err := os.WriteFile(rec, b, 0o666); err != nil {
		t.Fatal(err)
	}
	if text := look(average, "--in", filepath.Dir(rec)); !strings.Contains(text,
		"rec.edf                                     changed") {
		t.Errorf("the recording has changed:\n%s", text)
	}
	// One of the right hash elsewhere is taken before one that changed.
	b[len(b)-1] ^= 1
	writeFile(t, filepath.Join(dir, "backup", "rec.edf"), string(b))
	if text := look(average, "--in", filepath.Dir(rec), "--in",
		filepath.Join(dir, "backup")); !strings.Contains(text,
		"files: 2 unchanged\n") {
		t.Errorf("the backup is unchanged:\n%s", text)
	}
	if err := os.WriteFile(average, []byte("time\tCz\n0\t1\n0.01\t2\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if text := look(average); !strings.Contains(text, "rec_go_average.tsv                            changed") {
		t.Errorf("the table has changed:\n%s", text)
	}
}

func TestOriginMistakes(t *testing.T) {
	plain := table("own.tsv", averageTable(tableHeader, wave))
	for _, m := range []mistake{
		{"nothing", plain, "origin", usage, []string{"a figure or a table"}},
		{"a table made elsewhere", plain, "origin FILE", failed,
			[]string{"own.tsv", "does not say what it was made from"}},
		{"a file that is not there", plain, "origin nowhere.png", failed, []string{"nowhere.png"}},
		{"a recording", edf(sessionFile{events: true}), "origin FILE", failed,
			[]string{"rec.edf", "does not say"}},
		{"an empty picture", table("x.png", ""), "origin FILE", failed, []string{"x.png"}},
		{"a picture of another program", table("x.svg", "<svg xmlns=\"http://www.w3.org/2000/svg\"/>"),
			"origin FILE",
			failed, []string{"x.svg", "no provenance"}},
		{"a description that is none", table("x_average.json", "[1"), "origin FILE", failed,
			[]string{"x_average.json"}},
		{"a folder that is not there", plain, "origin FILE --in nowhere", usage, []string{"--in nowhere"}},
	} {
		t.Run(m.name, m.check)
	}
}
