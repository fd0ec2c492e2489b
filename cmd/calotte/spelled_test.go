package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// Figures and tables write electrodes in the standard's letters, whatever a
// table that was made elsewhere says.
func TestFiguresSpellElectrodes(t *testing.T) {
	dir := t.TempDir()
	own := writeFile(t, filepath.Join(dir, "own.tsv"), averageTable("time\tFc5\tFc6\tAf7\tAF8\tPo7\tPo8\tcz\tPz", wave))
	wrong := regexp.MustCompile(`\b(Fc|Af|Po)[0-9]|\bcz\b`)
	for name, args := range map[string][]string{
		"map":       {"map", own, "--at", "100ms", "--labels"},
		"traces":    {"traces", own, "--sites", "Fc5,Po7,cz"},
		"asymmetry": {"asymmetry", own, "--at", "100ms", "--of", "Fc5,Po7"},
	} {
		path := filepath.Join(dir, name+".svg")
		must(t, append(args, "-o", path)...)
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		var drawn []string // the record beside it keeps the command line as it was given
		for _, text := range regexp.MustCompile(`>([^<>]*)</(?:text|tspan)>`).FindAllStringSubmatch(string(text), -1) {
			drawn = append(drawn, text[1])
		}
		picture := strings.Join(drawn, "\n")
		if found := wrong.FindString(picture); found != "" || !strings.Contains(picture, "FC5") {
			t.Errorf("%s writes %q, FC5: %v", name, found, strings.Contains(picture, "FC5"))
		}
	}
	if table := must(t, "values", own, "--at", "100ms"); wrong.MatchString(table) || !strings.Contains(table, "FC5") {
		t.Errorf("%s", table)
	}
}
