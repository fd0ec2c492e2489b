package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"calotte/cmd/internal/console"
)

// relabelled writes the positions of a 10-10 cap with other names for some, and
// an average of one sample over all of them.
func relabelled(t *testing.T, rename func(i int, name string) string) (positions, average string) {
	t.Helper()
	dir := t.TempDir()
	path := filepath.Join(dir, "cap_electrodes.tsv")
	must(t, append([]string{"place", "--sites", "10-10", "-o", path}, strings.Fields(tapeArgs)...)...)
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	header, values, n := "time", "0", 0
	for i, line := range lines[1:] {
		name, rest, _ := strings.Cut(line, "\t")
		if slices.Contains([]string{"Nz", "Iz", "N1", "N2"}, name) {
			lines[1+i] = ""
			continue // landmarks, and those that a maker's names stand for
		}
		name = rename(n, name)
		lines[1+i] = name + "\t" + rest
		header += "\t" + name
		values += fmt.Sprintf("\t%d", n%7)
		n++
	}
	writeFile(t, path, strings.Join(lines, "\n")+"\n")
	return path, writeFile(t, filepath.Join(dir, "own_average.tsv"), header+"\n"+values+"\n0.004"+values[1:]+"\n")
}

// A maker's n1 and n2 are not N1 and N2: their pairs are across the head.
func TestLabelsAmongNames(t *testing.T) {
	makers := map[string]string{"P5": "n1", "CP5": "n2"}
	positions, average := relabelled(t, func(_ int, name string) string {
		if n, ok := makers[name]; ok {
			return n
		}
		return name
	})
	stdout, stderr, code := calotte("asymmetry", average, "--at", "0ms", "--electrodes", positions)
	if code != console.OK || strings.Count(stderr, "labels only") != 1 ||
		!strings.Contains(stderr, "measured places mirror each other") {
		t.Fatalf("exit %d: %s", code, stderr)
	}
	for pair, there := range map[string]bool{"N1\tP6": true, "N2\tCP6": true, "n1\tn2": false, "P7\tP8": true} {
		if strings.Contains(stdout, "\t"+pair+"\t") != there {
			t.Errorf("pair %q among the rows: want %v\n%s", pair, there, stdout)
		}
	}
	args := append([]string{"capcheck", positions}, strings.Fields(tapeArgs)...)
	if _, stderr, code = calotte(args...); code != console.OK || strings.Contains(stderr, "seat again") ||
		!strings.Contains(stderr, "labels only") {
		t.Errorf("capcheck: exit %d: %s", code, stderr)
	}
}

// Letters and numbers alone: pairs by the places, and a label may be asked for.
func TestLabelsOfOneScheme(t *testing.T) {
	at := map[string]string{}
	positions, average := relabelled(t, func(i int, name string) string {
		at[name] = fmt.Sprintf("%c%d", 'A'+i/32, i%32+1)
		return at[name]
	})
	stdout, stderr, code := calotte("asymmetry", average, "--at", "0ms", "--electrodes", positions, "--of",
		at["P7"])
	if want := "\t" + at["P7"] + "\t" + at["P8"] + "\t"; code != console.OK || !strings.Contains(stdout, want) ||
		strings.Count(stdout, "\n") != 2 {
		t.Errorf("exit %d, want one row of %q: %s\n%s", code, want, stdout, stderr)
	}
	// Without positions a label is no site.
	if _, stderr, code = calotte("asymmetry", average, "--at", "0ms", "--of", "B29"); code != console.Misused ||
		!strings.Contains(stderr, "--of") {
		t.Errorf("exit %d: %s", code, stderr)
	}
	args := append([]string{"capcheck", positions}, strings.Fields(tapeArgs)...)
	if _, stderr, code = calotte(args...); code != console.Failed || !strings.Contains(stderr, "none of the") {
		t.Errorf("capcheck: exit %d: %s", code, stderr)
	}
}
