package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/intake"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
	"calotte/topo/erp"
	"calotte/topo/erp/average"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/store"
	"calotte/topo/recording"
	"calotte/topo/recording/bids"
)

type contentsFlags struct {
	format option.Format
	inputs intake.Flags
	clock  averages.Clock
	check  checkFlags
}

func (a *app) contents() *cobra.Command {
	var f contentsFlags
	c := &cobra.Command{
		Use:   "contents FILE…|FOLDER",
		Short: "Say what is in a recording, a BIDS folder or an average",
		Long: `Contents lists channels, references, units, sampling rates, events with their counts
and columns, gaps, and whether files are of one person. The patient's text is never
shown. Of a BIDS folder it lists people, sessions, tasks and runs, and what is missing.
Arrays and tables are recordings where --rate, --unit and --sites say what they hold.

With --check it looks into the samples, on one screen, while the wearer is still there:
flat, noisy, exchanged and clipped electrodes, hum, events, how many epochs an average
could expect, what the others are lost to (blinks, looks, muscle, movement, a loose
contact, hum), and what to ask of the wearer. It is a check of the recording, not of the
wearer.`,
		Example: `  calotte contents calotte-demo/recordings/sub-01/eeg/sub-01_task-flags_eeg.edf
  calotte contents calotte-demo/recordings
  calotte contents --check calotte-demo/recordings/sub-01/eeg/sub-01_task-flags_eeg.edf
  calotte contents --format json calotte-demo/results/group/pilots_known_average.tsv`,
		Args: session.AtLeast(1, "a recording or an average"),
		RunE: func(c *cobra.Command, args []string) error { return a.runContents(c, f, args) },
	}
	c.Flags().Var(&f.format, "format", "tsv for text, or json")
	f.inputs.Register(c)
	f.check.register(c)
	f.clock.RegisterFirst(c)
	return c
}

func (a *app) runContents(c *cobra.Command, f contentsFlags, paths []string) error {
	if err := f.check.validate(c); err != nil {
		return err
	}
	var found []contents
	var files []string // recordings, and folders to be read
	for _, path := range paths {
		info, err := os.Stat(path)
		switch {
		case err == nil && info.IsDir() && !f.check.on && !f.inputs.Chooses() && !isPlain(path):
			if err := a.printFolder(path, f.format.JSON); err != nil {
				return err
			}
		case intake.Tabular(path) && !f.inputs.Array.Given():
			f.clock.Rate = f.inputs.Array.Rate
			read, err := f.clock.Load(a.Session, c, []string{path}, store.Everything)
			if err != nil && !c.Flags().Changed("rate") && !strings.EqualFold(filepath.Ext(path), ".json") {
				return fmt.Errorf("%w; of a table that is a recording, a column a site, give "+
					"--rate and --unit",
					err)
			} else if err != nil {
				return err
			}
			found = append(found, contentsOfAverage(path, read.Averages[0]))
		default:
			files = append(files, path)
		}
	}
	var recordings []*intake.Recording
	if files != nil {
		open, closeAll, err := f.inputs.Open(files)
		defer closeAll()
		if err != nil {
			return err
		}
		recordings = open
	}
	if f.check.on {
		if recordings == nil {
			return console.Usagef("--check looks into a recording: give one")
		}
		return a.checkRecordings(c, f, recordings)
	}
	for _, r := range recordings {
		found = append(found, contentsOfRecording(r))
	}
	if f.format.JSON {
		if found == nil {
			return nil
		}
		return json.NewEncoder(a.Stdout).Encode(found)
	}
	var text bytes.Buffer
	for _, one := range found {
		one.print(&text)
	}
	if len(recordings) > 1 {
		fmt.Fprintln(&text, whose(recordings))
	}
	if _, err := a.Stdout.Write(text.Bytes()); err != nil {
		return err
	}
	if len(recordings) > 0 {
		suggest(a.Summary(false), recordings, f.inputs.Described(c.Flags()))
	}
	return nil
}

// isPlain reports whether a folder holds recordings and is no BIDS folder.
func isPlain(path string) bool {
	files, err := bids.Plain(disk.FS(path))
	return err == nil && files != nil
}

// contents is what is in one file: a recording, or an average.
type contents struct {
	File      string             `json:"file"`
	Recording *recording.Summary `json:"recording,omitempty"`
	Sites     []string           `json:"sites"`
	Reference string             `json:"reference,omitempty"`
	Problem   string             `json:"problem,omitempty"` // why no average can be made of it
	Aside     []montage.Aside    `json:"aside,omitempty"`
	Bad       []string           `json:"marked_bad,omitempty"`
	Columns   []eventColumn      `json:"event_columns,omitempty"`
	Average   *average.Info      `json:"average,omitempty"`
	Samples   int                `json:"samples,omitempty"`
	From      *float64           `json:"from,omitempty"` // s; an average's
	To        *float64           `json:"to,omitempty"`
}

func contentsOfRecording(r *intake.Recording) contents {
	summary := r.Summary()
	c := contents{File: filepath.Base(r.Path), Recording: &summary, Sites: []string{}, Columns: columnsOf(r.Events)}
	for _, i := range r.Bad {
		c.Bad = append(c.Bad, r.Signals[i].Label)
	}
	m, err := montage.New(r.Signals, montage.Options{Aside: r.Input().NoEEG()})
	if err != nil {
		c.Problem = err.Error()
		return c
	}
	c.Sites, c.Reference, c.Aside = m.Sites, m.Reference, m.Aside
	return c
}

func contentsOfAverage(path string, avg *average.Average) contents {
	return contents{
		File: filepath.Base(path), Sites: avg.Sites, Reference: avg.Info.Reference, Average: &avg.Info,
		Samples: len(avg.Times), From: &avg.Times[0], To: &avg.Times[len(avg.Times)-1],
	}
}

func (c contents) print(w io.Writer) {
	console.Say(w, "%s\n", c.File)
	line := func(what, format string, args ...any) {
		console.Say(w, "  %-11s %s\n", what, console.Short(fmt.Sprintf(format, args...)))
	}
	if c.Recording != nil {
		c.printRecording(line)
	} else {
		c.printAverage(line)
	}
}

// mostListed are as many labels, or gaps, as anyone reads through.
const mostListed = 200

func (c contents) printRecording(line func(what, format string, args ...any)) {
	r := c.Recording
	line("format", "%v, %.6g s", r.Kind, r.Duration)
	if !r.Start.IsZero() {
		line("start", "%s", r.Start.Format("2006-01-02 15:04:05"))
	}
	line("signals", "%s", signalGroups(r.Channels))
	if c.Problem != "" {
		line("sites", "not usable: %s", c.Problem)
	} else {
		line("sites", "%d on the scalp: %s", len(c.Sites), strings.Join(c.Sites, " "))
		reference := c.Reference
		if reference == "" {
			reference = "one for all, not named by the labels"
		}
		line("reference", "%s", reference)
	}
	for _, s := range c.Aside {
		line("set aside", "%s: %s", console.Echo(s.Label), s.Reason)
	}
	if len(c.Bad) > 0 {
		line("marked bad", "%s", strings.Join(c.Bad, " "))
	}
	if len(r.Events) == 0 {
		line("events", "none")
	}
	for _, e := range r.Events[:min(mostListed, len(r.Events))] {
		line("events", "%-12s %4d, the first at %.4g s", console.Echo(e.Text), e.Count, e.First)
	}
	if more := len(r.Events) - mostListed; more > 0 {
		line("events", "and %d labels more (--format json lists them all)", more)
	}
	for _, col := range c.Columns {
		line("column", "%s", col)
	}
	if len(r.Gaps) == 0 {
		line("gaps", "none")
	}
	for _, g := range r.Gaps[:min(mostListed, len(r.Gaps))] {
		line("gap", "of %.4g s at %.6g s", g.Duration, g.Start)
	}
	if more := len(r.Gaps) - mostListed; more > 0 {
		line("gap", "and %d more", more)
	}
	for _, n := range r.Notes {
		line("note", "%s", n)
	}
}

// signalGroups counts signals of one unit and rate: "64 in uV at 160 Hz".
func signalGroups(channels []recording.Channel) string {
	type group struct {
		unit string
		rate float64
	}
	counts := map[group]int{}
	var order []group
	for _, ch := range channels {
		g := group{ch.Unit, ch.Rate}
		if counts[g] == 0 {
			order = append(order, g)
		}
		counts[g]++
	}
	texts := make([]string, len(order))
	for i, g := range order {
		unit := g.unit
		if unit == "" {
			unit = "no unit"
		}
		texts[i] = fmt.Sprintf("%d in %s at %.6g Hz", counts[g], unit, g.rate)
	}
	return strings.Join(texts, ", ")
}

func (c contents) printAverage(line func(what, format string, args ...any)) {
	i := c.Average
	line("kind", "%s of %s, condition %s", i.Kind, i.Name, i.Title())
	line("samples", "%d from %.4g to %.4g s", c.Samples, *c.From, *c.To)
	line("sites", "%d: %s", len(c.Sites), strings.Join(c.Sites, " "))
	line("reference", "%s", average.OrNotKnown(i.Reference))
	line("baseline", "%s", average.OrNotKnown(i.Baseline))
	line("filters", "%s", average.OrNotKnown(i.Filters))
	if i.Epochs != nil {
		line("epochs", "%d kept, %s", i.Epochs.Kept, lost(*i.Epochs))
	}
	if len(i.Labels) > 0 {
		line("events", "%s", strings.Join(i.Labels, ", "))
	}
	if len(i.Shares) > 0 {
		line("note", "shares epochs with %s", strings.Join(i.Shares, ", "))
	}
	if len(i.Repaired) > 0 {
		line("repaired", "%s", strings.Join(i.Repaired, " "))
	}
	for _, m := range i.Members {
		line("member", "%s", memberText(m))
	}
	for _, s := range i.Provenance.Inputs {
		line("made from", "%s", s.Name)
	}
	if i.Weighted {
		line("note", "people are weighted by their epochs")
	}
	for _, n := range i.Notes {
		line("note", "%s", n)
	}
	if i.Synthetic {
		line("note", "synthetic data")
	}
}

// memberText is "sub-01, 31 epochs", of differences "sub-01, 31 and 28 epochs",
// within one "sub-01, known, 31 epochs". Numbers that are not known are left
// out.
func memberText(m average.Member) string {
	text := m.Name
	if m.Condition != "" {
		text += ", " + m.Condition
	}
	switch {
	case m.Epochs == 0:
		return text
	case m.Minus == 0:
		return text + ", " + console.Plural(m.Epochs, "epoch", "epochs")
	}
	return fmt.Sprintf("%s, %d and %d epochs", text, m.Epochs, m.Minus)
}

// whose says what the files tell about whose they are.
func whose(recordings []*intake.Recording) string {
	people, err := intake.ByPerson(recordings)
	switch {
	case err != nil:
		return "people: " + err.Error()
	case intake.Silent(recordings):
		return "people: the files do not say whether they are of one person"
	case len(people) > 1:
		return fmt.Sprintf("people: these recordings are of %d people, as far as they say (average them "+
			"with --each)",
			len(people))
	}
	return "people: these recordings are of one person"
}

// suggest prints a command that would average the recordings, with the flags
// that describe them, and the labels to choose from.
func suggest(w io.Writer, recordings []*intake.Recording, flags []string) {
	all := intake.Events(recordings)
	if len(all) == 0 {
		fmt.Fprintln(w, "next: these recordings have no events to average around")
		return
	}
	args := []string{"calotte", "average"}
	for _, r := range recordings {
		args = append(args, r.Path)
	}
	if people, err := intake.ByPerson(recordings); err == nil && len(people) > 1 && !intake.Silent(recordings) {
		args = append(args, "--each")
	}
	args = append(append(args, flags...), "--condition", "NAME=LABEL", "-o", "averages")
	console.Say(w, "next: %s\n      (NAME is yours to choose; %s)\n", console.ShellLine(args), erp.LabelCounts(all))
}
