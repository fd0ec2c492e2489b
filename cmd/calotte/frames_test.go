package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/console"
)

func TestFrames(t *testing.T) {
	dir := drawnFolder(t)
	own, out := filepath.Join(dir, "own.tsv"), filepath.Join(dir, "frames")
	must(t, "frames", own, "--during", "100..140ms", "--every", "7ms", "-o", out)
	names := namesIn(t, out)
	if len(names) != 8 || names[0] != "frame-00001.png" || names[5] != "frame-00006.png" ||
		names[6] != "frames.json" {
		t.Fatalf("%q: want six frames and the index", names)
	}
	index, err := os.ReadFile(filepath.Join(out, "frames.tsv"))
	if err != nil || !strings.Contains(string(index), "frame-00002.png\t0.107\t") ||
		strings.Count(string(index), "\n") != 7 {
		t.Errorf("%v\n%s", err, index)
	}
	// The same bytes whatever the number of jobs; another run needs
	// --force, and leaves none of the old frames.
	for _, jobs := range []string{"1", "3"} {
		other := filepath.Join(dir, "jobs"+jobs)
		must(t, "frames", own, "--during", "100..140ms", "--every", "7ms", "--jobs", jobs, "-o", other)
		for _, name := range names {
			a, _ := os.ReadFile(filepath.Join(out, name))
			b, _ := os.ReadFile(filepath.Join(other, name))
			if !bytes.Equal(a, b) {
				t.Errorf("%s differs with %s jobs", name, jobs)
			}
		}
	}
	if err := calotteFails("frames", own, "--during", "100..110ms", "--every", "10ms", "-o",
		out); !strings.Contains(err, "holds an earlier set of 8 files") || !strings.Contains(err, "--force") {
		t.Errorf("frames of an earlier run: %q", err)
	}
	must(t, "frames", own, "--during", "100..110ms", "--every", "10ms", "-o", out, "--force")
	if names := namesIn(t, out); len(names) != 4 {
		t.Errorf("%q: want two frames and the index", names)
	}
	must(t, "frames", own, "--during", "100..140ms", "--every", "20ms", "-o", filepath.Join(dir, "film.gif"))
	must(t, "frames", own, "--during", "100..140ms", "--every", "20ms", "-o", filepath.Join(dir, "film.apng"))
	text := must(t, "origin", "--redo", filepath.Join(dir, "film.gif"), filepath.Join(dir, "film.apng"),
		filepath.Join(out, "frame-00002.png"), "--in", dir)
	if strings.Count(text, "the same bytes") != 3 {
		t.Errorf("done again:\n%s", text)
	}
}

// An interrupt leaves no frames, and those of an earlier run as they were.
func TestInterruptedFrames(t *testing.T) {
	dir := drawnFolder(t)
	out := filepath.Join(dir, "frames")
	ctx, stop := context.WithCancel(context.Background())
	stop()
	err := run(ctx, []string{"frames", filepath.Join(dir, "own.tsv"), "-o", out}, strings.NewReader(""),
		new(bytes.Buffer), new(bytes.Buffer))
	if code := console.Report(new(bytes.Buffer), err); code != 130 {
		t.Errorf("%v, exit %d, want 130", err, code)
	}
	for _, name := range namesIn(t, out) {
		if strings.HasPrefix(name, "frames") || strings.HasPrefix(name, ".") {
			t.Errorf("%s is left", name)
		}
	}
}

func TestFramesMistakes(t *testing.T) {
	plain := table("own.tsv", averageTable(tableHeader, wave))
	for _, m := range []mistake{
		{"no output", plain, "frames FILE", usage, []string{"--output", "film.gif"}},
		{"below a microsecond", plain, "frames FILE --every 0.5us -o OUT", usage,
			[]string{"--every", "microsecond"}},
		{"no step", plain, "frames FILE --every 0ms -o OUT", usage, []string{"--every"}},
		{"reversed", plain, "frames FILE --during 200..100ms -o OUT", usage, []string{"backwards"}},
		{"outside", plain, "frames FILE --during 200..900ms -o OUT", failed, []string{"own.tsv"}},
		{"too many", plain, "frames FILE --every 1us -o OUT", usage, []string{"frames", "at most 20000"}},
		{"too many maps", plain, "map FILE " + latencies(501) + " -o OUT.svg", usage,
			[]string{"501 maps on a sheet: expected at most 500", "several sheets"}},
		{"unknown ending", plain, "frames FILE -o OUT.mp4", usage, []string{".gif or .apng"}},
		{"tiny", plain, "frames FILE --side 10 -o OUT", usage, []string{"--side 10"}},
		{"speed", plain, "frames FILE --speed 0 -o OUT", usage, []string{"--speed 0"}},
		{"limit of zero", plain, "frames FILE --limit 0uV -o OUT", usage, []string{"more than 0"}},
	} {
		m.check(t)
	}
}

// namesIn are the files of a folder.
func namesIn(t *testing.T, dir string) []string {
	t.Helper()
	var names []string
	for _, path := range listing(t, dir) {
		names = append(names, filepath.Base(path))
	}
	return names
}
