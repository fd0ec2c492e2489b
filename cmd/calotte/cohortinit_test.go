package main

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"pgregory.net/rapid"

	"calotte/cmd/internal/cohort"
	"calotte/topo/erp"
)

// oddLabels are labels that YAML, the grammar of events, or the recipe itself
// could take for something else.
var oddLabels = []string{
	"it's", `a"b`, "null", "Null", "true", "yes", "~", "people", "People", "+", "-", "- x", "#", "go #1", "a: b",
	"a:b",
	"{a}", "[a]", "*a", "&a", "!a", "|", ">", "%", "@", "`",
	"and", "not", "time", "0x1F", "1e5", "007", "1_0", ".inf", "1:30", "2020-02-02", "a,b", "a=b", `a\b`, `\`, " a",
	"a ", "", " ", "\t",
	"go\n  exclude: /etc/passwd #", "go\r\nhead: x", "go\u2028head: x", "\x1b]0;x\a", "\x00", "\u0085", "\ufeff",
	"\u202ea", "\U000e0041", "\U0001f600", "ß", "Ǆ", "éa\u0301", "١",
	strings.Repeat("long", 200), strings.Repeat("ä", 900),
}

// Whatever events and data sets are called, init writes a recipe that reads,
// that has the label, and in which nothing else has come to life.
func TestInitWritesAnyLabel(t *testing.T) {
	path := filepath.Join(t.TempDir(), "recipe.yaml")
	rapid.Check(t, func(r *rapid.T) {
		word := rapid.OneOf(rapid.SampledFrom(oddLabels), rapid.String())
		label, other, folder, title := word.Draw(r, "label"), word.Draw(r, "other"), word.Draw(r, "folder"),
			word.Draw(r, "title")
		f := found{Root: yamlText(folder), Name: nameOf(title), Bad: "sub-01 F6", Mains: "50Hz"}
		if !f.take(map[string]int{label: 2, other: 1}) {
			if usable(label) || usable(other) {
				r.Fatal("no condition")
			}
			r.Skip("no label can be named")
		}
		var text strings.Builder
		if err := f.write(&text); err != nil {
			r.Fatal(err)
		}
		writeFile(t, path, text.String())
		if _, err := cohort.Read(path, studyVerbs()); err != nil {
			r.Fatalf("%v\n%s", err, text.String())
		}
		var recipe struct {
			Name, Recordings string
			Average          map[string]any
		}
		if err := yaml.Unmarshal([]byte(text.String()), &recipe); err != nil {
			r.Fatal(err)
		}
		if recipe.Recordings != folder {
			r.Errorf("folder %q, want %q", recipe.Recordings, folder)
		}
		for key := range recipe.Average {
			if !slices.Contains([]string{"condition", "epoch", "reference", "highpass", "lowpass", "reject",
				"repair"},
				key) {
				r.Errorf("%s has come to life:\n%s", key, text.String())
			}
		}
		var c erp.Condition
		if err := c.Set(recipe.Average["condition"].([]any)[0].(string)); err != nil {
			r.Fatal(err)
		}
		if got := c.Events.OnlyLabels(); usable(label) && !slices.Equal(got, []string{label}) {
			r.Errorf("the condition is of %q, want %q:\n%s", got, label, text.String())
		}
	})
}

// usable reports whether a label can be named, in a recipe that somebody reads.
func usable(label string) bool { return label != "" && len(label) <= longestLabel }
