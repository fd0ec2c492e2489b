package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"

	"calotte/cmd/internal/console"
	"calotte/topo/provenance"
)

// What a file says of itself neither acts on a terminal nor fills it.
func TestOriginEchoesHostileTexts(t *testing.T) {
	const acts = "\x1b]0;owned\a\u009b2J\u202e\u2066\U000e0041\r\n"
	settings := map[string]string{"limit": acts, acts: "x", "title": strings.Repeat("long ", 20_000)}
	for i := range 5000 {
		settings[fmt.Sprintf("z%d", i)] = "1"
	}
	dir := t.TempDir()
	for _, name := range []string{"a.svg", "a.png", "a.pdf", "a.json"} {
		path := hostileFile(t, filepath.Join(dir, name),
			provenance.Record{Work: acts, Settings: settings,
				Inputs: []provenance.Source{{Name: acts + "rec.edf"},
					{Name: strings.Repeat("x", 10_000)}}})
		for _, format := range []string{"tsv", "json"} {
			text := must(t, "origin", path, "--format", format)
			if i := strings.IndexFunc(text,
				func(r rune) bool { return r != '\n' && !unicode.IsGraphic(r) }); i >= 0 {
				t.Errorf("%s, %s: %q", name, format, text[max(0, i-20):min(len(text), i+20)])
			}
			if format == "tsv" && len(text) > 5000 {
				t.Errorf("%s: %d bytes", name, len(text))
			}
		}
		for _, args := range [][]string{{"origin", path, "--redo"}, {"methods", path}} {
			stdout, stderr, _ := calotte(args...)
			if text := stdout + stderr; len(text) > 5000 ||
				strings.ContainsFunc(text,
					func(r rune) bool { return r != '\n' && !unicode.IsGraphic(r) }) {
				t.Errorf("%s: %q", args[0], text[:min(len(text), 2000)])
			}
		}
	}
}

// Tables that are each made fifty times of the next are told in the time that
// reading them takes.
func TestOriginOfManyPaths(t *testing.T) {
	dir := t.TempDir()
	for i := range 12 {
		name := func(i int) string { return fmt.Sprintf("t%d_average.tsv", i) }
		inputs := slices.Repeat([]provenance.Source{{Name: name(i + 1)}}, 50)
		text, err := json.Marshal(map[string]any{"provenance": provenance.Record{Program: "calotte",
			Work:   "combine",
			Inputs: inputs}})
		if err != nil {
			t.Fatal(err)
		}
		writeFile(t, filepath.Join(dir, name(i)), "time\tCz\n")
		writeFile(t, filepath.Join(dir, fmt.Sprintf("t%d_average.json", i)), string(text))
	}
	if text := must(t, "origin", filepath.Join(dir, "t0_average.tsv")); strings.Count(text, "\n") > 700 ||
		!strings.Contains(text, "t11_average.tsv") {
		t.Errorf("%.3000s", text)
	}
	if text := must(t, "origin", "--format", "json", filepath.Join(dir, "t0_average.tsv")); len(text) > 100_000 {
		t.Errorf("%d bytes", len(text))
	}
}

// hole makes a file of a size that takes no room.
func hole(t *testing.T, path string, size int64) string {
	t.Helper()
	writeFile(t, path, "")
	if err := os.Truncate(path, size); err != nil {
		t.Skip(err)
	}
	return path
}

// A table larger than any that is read is another than the one that was
// recorded, which need not be found out by reading it.
func TestOriginOfHoles(t *testing.T) {
	dir := t.TempDir()
	hole(t, filepath.Join(dir, "own.tsv"), 1<<41)
	figure := hostileFile(t, filepath.Join(dir, "a.svg"),
		provenance.Record{Work: "map", Arguments: []string{"--at=0ms", "own.tsv"},
			Inputs: []provenance.Source{{Name: "own.tsv"}}})
	if text := must(t, "origin", figure); !strings.Contains(text, "changed") {
		t.Error(text)
	}
	must(t, "methods", figure)
	if _, stderr, code := calotte("origin", "--redo", figure); code != console.Failed ||
		!strings.Contains(stderr, "own.tsv, which has changed") {
		t.Errorf("exit %d: %s", code, stderr)
	}
}

// Recordings may be large, and whoever waits for their hashes may end that.
func TestOriginIsInterrupted(t *testing.T) {
	dir := t.TempDir()
	hole(t, filepath.Join(dir, "rec.edf"), 1<<41)
	figure := hostileFile(t, filepath.Join(dir, "a.json"),
		provenance.Record{Work: "average", Arguments: []string{"rec.edf"},
			Inputs: []provenance.Source{{Name: "rec.edf"}}})
	for _, args := range [][]string{{"origin", figure}, {"origin", "--redo", figure}, {"methods", figure}} {
		ctx, stop := context.WithTimeout(t.Context(), 50*time.Millisecond)
		err := run(ctx, args, strings.NewReader(""), io.Discard, io.Discard)
		stop()
		if !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("%v: %v", args, err)
		}
	}
}

// A chain of files that are each made of the next is followed so far as work
// is.
func TestOriginOfALongChain(t *testing.T) {
	dir := t.TempDir()
	for i := range 3000 {
		writeFile(t, filepath.Join(dir, fmt.Sprintf("%d.json", i)),
			fmt.Sprintf(`{"provenance":{"program":"c","inputs":[{"name":"%d.json"}]}}`, i+1))
	}
	first := filepath.Join(dir, "0.json")
	text := must(t, "origin", first)
	if !strings.Contains(text, "and so on\n") || !strings.Contains(text, "50.json") ||
		strings.Contains(text, "51.json") {
		t.Errorf("%d bytes: %.3000s", len(text), text)
	}
	if text := must(t, "origin", "--format", "json", first); len(text) > 100_000 ||
		!strings.Contains(text, `"more":true`) {
		t.Errorf("%d bytes", len(text))
	}
	must(t, "methods", first)
}
