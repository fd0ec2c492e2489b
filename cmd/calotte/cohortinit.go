package main

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"text/template"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/cohort"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/intake"
	"calotte/cmd/internal/session"
	"calotte/layout"
	"calotte/topo/erp"
	"calotte/topo/recording/bids"
	"calotte/topo/recording/event"
)

func (a *app) cohortInit() *cobra.Command {
	return &cobra.Command{
		Use:   "init FOLDER",
		Short: "Write a recipe for a BIDS folder, to be completed",
		Long: `Init looks at the recordings of a BIDS folder and prints a commented recipe: its tasks
and sessions, the labels of its events, and the usual settings. Read it, change what is
not right for the study, and run it.`,
		Example: "  calotte cohort init calotte-demo/recordings > my-recipe.yaml",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return console.Usagef("cohort init needs one BIDS folder: see calotte cohort " +
					"init --help")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error { return a.initRecipe(args[0]) },
	}
}

// A found study is what a recipe begins with.
type found struct {
	Root, Name      string
	People          int
	Lines           []string // session and task, where there are several
	Events          string   // the labels with their counts, in a comment
	Conditions      []string // NAME=LABEL, quoted
	Differences     []string // "known,novel"
	Windows, Inputs string
	First, Pair     string // the first condition, and the first two
	Bad             string // electrodes that the tables of channels mark, in a comment
	Mains           string
}

func (a *app) initRecipe(root string) error {
	set, err := bids.Open(disk.FS(root))
	if err != nil {
		return fmt.Errorf("%s: %w", root, err)
	}
	if len(set.Recordings) == 0 {
		return fmt.Errorf("%s: no recording in EDF or BDF, nor an array: expected sub-LABEL/eeg/*_eeg.edf",
			root)
	}
	if !utf8.ValidString(root) {
		return fmt.Errorf("%s: a name that is no UTF-8 cannot stand in a recipe: rename the folder",
			console.Echo(root))
	}
	f := found{Root: yamlText(root), People: len(set.Subjects), Mains: "50Hz"}
	for _, c := range []struct {
		key string
		of  func(bids.File) string
	}{{"session", bids.File.Session}, {"task", bids.File.Task}} {
		var list []string
		for _, r := range set.Recordings {
			list = append(list, c.of(r))
		}
		slices.Sort(list)
		if list = slices.Compact(list); len(list) > 1 {
			list = slices.DeleteFunc(list, func(s string) bool { return s == "" })
			f.Lines = append(f.Lines,
				fmt.Sprintf("%s: %s   # of %s: a study is of one", c.key, yamlText(list[0]),
					console.Echo(strings.Join(list, ", "))))
		}
	}
	if err := f.look(root, set.Recordings[0]); err != nil {
		return err
	}
	if f.Bad, err = markedIn(root, set.Recordings); err != nil {
		return err
	}
	f.Name = nameOf(set.Title)
	return f.write(a.Stdout)
}

func (f *found) write(w io.Writer) error {
	t, err := template.New("recipe").Parse(recipeTemplate)
	if err != nil {
		return err
	}
	return t.Execute(w, f)
}

var notPlain = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`[^\pL\d]+`) })

// nameOf is the name of a study, of the first word of a title.
func nameOf(title string) string {
	words := strings.Fields(notPlain().ReplaceAllString(title, " "))
	name := strings.ToLower(strings.Join(words[:min(1, len(words))], ""))
	return yamlText(cmp.Or(cut(name), "group"))
}

// markedIn lists the electrodes that are marked bad beside recordings: "sub-07
// F6".
func markedIn(root string, files []bids.File) (string, error) {
	var texts []string
	finder := bids.NewFinder(disk.FS(root))
	for _, file := range files {
		d, err := finder.Describe(file.Path)
		if err != nil {
			return "", fmt.Errorf("%s: %w", root, err)
		}
		for _, c := range d.Channels {
			if text := "sub-" + file.Subject() + " " + console.Echo(c.Name); c.Bad &&
				!slices.Contains(texts,
					text) {
				texts = append(texts, text)
			}
		}
	}
	return strings.Join(texts, ", "), nil
}

// look reads the events of the first recording.
func (f *found) look(root string, first bids.File) error {
	path := filepath.Join(root, filepath.FromSlash(first.Path))
	in := intake.Flags{}
	open, closeAll, err := in.Open([]string{path})
	defer closeAll()
	if err != nil {
		return err
	}
	counts := map[string]int{}
	for _, e := range open[0].Events {
		counts[e.Text]++
	}
	if !f.take(counts) {
		return fmt.Errorf("%s: no events: add them (an events table beside it, or see --codes and --onsets of "+
			"calotte average), and init again", path)
	}
	if m := open[0].Mains; m > 0 {
		f.Mains = fmt.Sprintf("%gHz", m)
	}
	return nil
}

// take makes conditions of the labels that most events have, but for markers of
// rest, and reports whether there are any.
func (f *found) take(counts map[string]int) bool {
	labels := mostFirst(counts)
	var told []string
	var names []string
	for _, l := range labels {
		if len(told) < 12 {
			told = append(told, fmt.Sprintf("%s (%d)", console.Echo(l), counts[l]))
		}
	}
	for _, l := range likelyConditions(counts) {
		if len(names) == 2 || l == "" || len(l) > longestLabel || !utf8.ValidString(l) {
			continue
		}
		name := conditionName(l, len(names)+1)
		if !slices.ContainsFunc(names, func(n string) bool { return strings.EqualFold(n, name) }) {
			names = append(names, name)
			f.Conditions = append(f.Conditions,
				yamlText(erp.Condition{Name: name, Events: event.Labels(l)}.String()))
		}
	}
	if len(names) == 0 {
		return false
	}
	f.Events = strings.Join(told, ", ")
	f.First, f.Inputs = yamlText(names[0]), yamlTexts(names)
	if len(names) == 2 {
		f.Differences, f.Pair = []string{names[0] + "," + names[1]}, f.Inputs
		f.Inputs = yamlTexts([]string{names[0], names[1], names[0] + "-" + names[1]})
	}
	return true
}

// longestLabel is how many bytes a label has at most of which a condition is
// made, and longestName likewise how many letters of it the names of files
// take.
const (
	longestLabel = 1000
	longestName  = 40
)

// conditionName is the name of a condition for a label, number n.
func conditionName(label string, n int) string {
	name := cut(notPlain().ReplaceAllString(label, ""))
	if name == "" || cohort.CheckCondition(name) != nil {
		return fmt.Sprintf("event%d", n)
	}
	return name
}

func cut(name string) string {
	runes := []rune(name)
	return string(runes[:min(len(runes), longestName)])
}

const recipeTemplate = `# A study in one file. Run it with: calotte cohort run THIS_FILE
# The keys of each section are the flags of the verb that does the work: calotte VERB --help.

name: {{.Name}}
recordings: {{.Root}}    # {{.People}} participants; names of files are as seen from this file
results: results
{{- range .Lines}}
{{.}}
{{- end}}
# participants: [01, 02]    # default: all
# head: head.json           # of calotte place; else a sphere of 560 mm is assumed
# windows: windows.tsv      # declared before looking: columns name and window

average:
  # events of the first recording: {{.Events}}
  condition:
{{- range .Conditions}}
    - {{.}}
{{- end}}
  epoch: -200..800ms
  reference: average
  highpass: 0.1Hz
  lowpass: 30Hz
  # notch: {{.Mains}}
  # blinks: VEOG
  reject: 150uV
{{- if .Bad}}
  repair: bad    # as the tables of channels mark: {{.Bad}}
{{- end}}

# What is different for single people:
# people:
#   sub-05: {repair: [F6]}    # an electrode that failed: quality.tsv and calotte contents --check tell
{{if .Differences}}
differences:
{{- range .Differences}} ['{{.}}']{{end}}
{{end}}
figures:
  - figure: map
    name: maps.svg
    inputs: [{{.Inputs}}]
    at: [100ms, 170ms, 300ms]    # declare latencies before you look
  - figure: traces
    name: traces.svg
    inputs: [{{.Inputs}}]
    sites: [Fz, Cz, Pz]

asymmetry:
  - name: asymmetry.tsv
    inputs: {{.First}}
    at: 150..190ms
{{if .Differences}}
compare:
  - name: clusters.tsv
    inputs: [{{.Pair}}]
    during: 0..600ms
{{end}}
explore:
  name: study.html
`

func (a *app) cohortSchema() *cobra.Command {
	return &cobra.Command{
		Use:     "schema",
		Short:   "Print the JSON Schema of recipes",
		Long:    "Schema prints the JSON Schema that recipes follow, for editors that check while one types.",
		Example: "  calotte cohort schema > recipe.schema.json",
		Args:    session.AtMost(0, "no input"),
		RunE: func(*cobra.Command, []string) error {
			encoder := json.NewEncoder(a.Stdout)
			encoder.SetIndent("", "  ")
			encoder.SetEscapeHTML(false)
			return encoder.Encode(cohort.Schema(studyVerbs()))
		},
	}
}

// resting are the usual names of markers that no condition is made of (common
// practice, no source).
var resting = []string{"rest", "resting", "break", "pause", "baseline", "fixation", "boundary", "start", "end"}

// likelyConditions sorts labels by how many events have them, without markers
// of rest and answers: those that are called so, and one of as many events as
// all others together, give or take one, which stands between them. Where
// nothing would be left, all are returned.
func likelyConditions(counts map[string]int) []string {
	labels := mostFirst(counts)
	total := 0
	for _, n := range counts {
		total += n
	}
	likely := slices.DeleteFunc(slices.Clone(labels), func(l string) bool {
		others := total - counts[l]
		between := len(labels) > 2 && counts[l] >= others-1 && counts[l] <= others+1
		return between || slices.Contains(resting, layout.Fold(l))
	})
	if len(likely) == 0 {
		return labels
	}
	return likely
}

// mostFirst sorts labels by how many events have them, then by name.
func mostFirst(counts map[string]int) []string {
	return slices.SortedFunc(maps.Keys(counts), func(a, b string) int {
		return cmp.Or(cmp.Compare(counts[b], counts[a]), cmp.Compare(a, b))
	})
}

var bareYAML = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^\pL[\pL\d=_.-]*$`) })

// meaningYAML are words that some reader of YAML takes for something else than
// text.
var meaningYAML = []string{"null", "true", "false", "yes", "no", "on", "off", "y", "n"}

// yamlText is a text as a value of YAML: bare where nothing can be meant but
// the text, else in double quotes. What Go escapes in them YAML reads the same,
// for text in UTF-8.
func yamlText(text string) string {
	if bareYAML().MatchString(text) && !slices.Contains(meaningYAML, strings.ToLower(text)) {
		return text
	}
	return strconv.QuoteToGraphic(text)
}

// yamlTexts are several, as the items of a list in brackets.
func yamlTexts(texts []string) string {
	var list []string
	for _, t := range texts {
		list = append(list, yamlText(t))
	}
	return strings.Join(list, ", ")
}
