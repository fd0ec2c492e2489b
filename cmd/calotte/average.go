package main

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/declared"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/intake"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/topo/erp"
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/provenance"
	"calotte/topo/recording/event"
	"calotte/topo/unit"
)

type averageFlags struct {
	cleaningFlags
	inputs     intake.Flags
	bare       bareFlags
	conditions option.Conditions
	shift      unit.Time
	response   event.Selector
	within     unit.Span
	lock       option.Lock
	centre     epoch.Centre
	save       bool
	name       string
	each       bool
	declared   declared.File
	output     string
}

func (a *app) average() *cobra.Command {
	f := averageFlags{cleaningFlags: newCleaningFlags(), inputs: intake.Flags{Places: a.Places},
		within: unit.Span{From: 0.1, To: 2}}
	c := &cobra.Command{
		Use:   "average RECORDING…|FOLDER|EPOCHS…",
		Short: "Average the epochs around events, condition by condition",
		Long: `Average filters the recording where asked to, cuts an epoch around every event of a
condition, takes out components and blinks, repairs, re-references, subtracts the baseline, rejects,
and averages, in this order. Filters have zero phase: they delay nothing, and spread
onsets backwards.

A condition's events are chosen by their labels, or by the columns of their table:
  known=T1,T2                          labelled T1 or T2
  known=trial_type:known               with this value in a column
  "fast=trial_type:known and response_time<0.8 and not response:n/a"
Words: and, or, not, brackets; < <= > >= = != compare numbers; time:0s..60s is a
stretch of the recording. Quotes go around what holds blanks or any of ( ) , : < > = !

Recordings in a BIDS folder are read with the tables beside them; a folder is read
with --participant and so on. Runs of one person are pooled, sessions averaged apart;
recordings of different people are refused unless --each averages them person by
person. Where no file says whose it is, they are pooled with a note; the files of a
plain folder are not, unless --each averages them apart.

A recording may also be an array: NumPy .npy, MATLAB .mat of level 5 (save with -v7)
or a table, a column a site, with --rate 500Hz --unit uV --sites sites.txt --events
events.tsv (without, NAME_events.tsv beside NAME.npy); onsets are s from the first
sample. Which axis is that of the sites is told by the number of names.

Tables and figures write electrodes in the standard's letters, FC5 for "Fc5.", and keep
older names, T3; electrodes are found by any of their names, T3 as T7.

For each condition it writes STEM_COND_average.tsv (µV a site), _sem.tsv (standard
errors), _pairs.tsv (right minus left) and _average.json (what was done), and with
--save-epochs _epochs.npy (epoch × site × sample) and _epochs.tsv (what became of
each event). Epochs in such a file are averaged again by giving it; epochs cleaned
elsewhere, an array of three axes in .npy or .mat, by giving --first, too.

It tells how the wearer looked sideways in the windows of --sme (else all the time after
the event), since people who look aside in one condition make an asymmetry: from a
horizontal eye channel (labelled HEOG, or HEOGL and HEOGR, or the second of --blinks), in
degrees of 10 to 20 µV each (common practice, no source), else from F10 minus F9 or F8
minus F7, which see the brain as well. Positive is to the wearer's right, if the channel
is the right eye less the left. Intervals of 95 % held a planted truth in 944 to 959 of
1,000 draws.

--centre trimmed takes at each sample the mean of the epochs without a fifth at each end,
--centre median their median, against few epochs that are far off. Standard errors are
those of Tukey & McLaughlin (1963) and of the bootstrap; 95 % intervals held a planted
truth in 941 to 970 of 1,000 draws of 12 to 90 epochs (the median of 90 skewed ones: 934).
Right minus left is the centre of each epoch's own. Tests over epochs, errors of maps and
other references and sites are for means alone, and say so.`,
		Example: `  calotte average calotte-demo/recordings/sub-01/eeg/sub-01_task-flags_eeg.edf \
    --condition known=known --condition novel=novel \
    --reference average --reject 150uV -o averages
  calotte average calotte-demo/recordings/sub-01/eeg/sub-01_task-flags_eeg.edf \
    --condition known=known --highpass 0.1Hz --lowpass 30Hz \
    --reject robust --repair found --save-epochs -o filtered
  calotte average filtered/sub-01_known_epochs.npy --reject 120uV -o again
  calotte average filtered/sub-01_known_epochs.npy --centre trimmed -o trimmed
  calotte average calotte-demo/recordings --participant 01,02 --each \
    --condition "early=trial_type:known and part:first" --reject 150uV -o early`,
		Args: session.AtLeast(1, "one recording or more"),
		RunE: func(c *cobra.Command, args []string) error {
			return a.runAverage(c, f, args)
		},
	}
	flags := c.Flags()
	flags.Var(&f.conditions, "condition", "NAME=EVENTS: a condition and its events; repeat for more")
	flags.Var(&f.shift, "after-trigger",
		"the events happened so much later than they are marked, such as 12ms for a slow screen")
	flags.Var(&f.response, "response",
		"EVENTS that answer those of the conditions: only answered ones are averaged")
	flags.Var(&f.within, "response-time", "times from event to response that count")
	flags.Var(&f.lock, "lock", "what time zero is: event, or response (the baseline stays before the event)")
	flags.Var(&f.centre, "centre", "of the epochs at each sample: mean, trimmed (by 20 % at each end) or median")
	flags.BoolVar(&f.save, "save-epochs", false, "keep the epochs beside the averages")
	flags.StringVar(&f.name, "name", "",
		"`NAME` that the files begin with (default: the participant, or the first recording)")
	flags.BoolVar(&f.each, "each", false, "average recordings of different people, person by person")
	f.declared.Register(c, "`FILE` of tests that are declared now (compare: as in a recipe): its SHA-256 goes into "+
		"the averages")
	flags.StringVarP(&f.output, "output", "o", "", "`FOLDER` for the averages")
	session.Optional(flags, "after-trigger")
	f.cleaningFlags.register(c)
	f.inputs.Register(c)
	f.bare.register(c)
	option.ShowGroups(c, averageGroups...)
	return c
}

// averageGroups are the flags in the order of the work.
var averageGroups = []option.Group{
	{Title: "Output", Names: []string{"output", "name", "centre", "save-epochs", "declared"}},
	{Title: "Which events", Names: []string{"condition", "after-trigger", "response", "response-time", "lock"}},
	{Title: "Where recordings and their events are found",
		Names: []string{"participant", "session", "task", "run", "each", "events", "event-label", "codes",
			"onsets",
			"allow-truncated"}},
	{Title: "Recordings that are arrays (FILE.npy, .mat, .csv)", Names: intake.ArrayFlagNames},
	{Title: "Filters and epochs", Names: []string{"highpass", "lowpass", "notch", "epoch", "baseline"}},
	{Title: "Eyes, bad electrodes, reference",
		Names: []string{"unmix", "blinks", "repair", "restore-reference", "reference"}},
	{Title: "Which epochs are dropped",
		Names: []string{"reject", "reject-step", "step-over", "reject-flat", "reject-clipped", "exclude",
			"minimum", "most-noise", "most-sme",
			"same-number"}},
	{Title: "How good the averages are", Names: []string{"sme", "mains"}},
	{Title: "Epochs made elsewhere (FILE.npy, .mat), with --sites, --rate", Names: []string{"first"}},
	{Title: "The head, for --repair",
		Names: append([]string{"head", "scan", "landmarks", "scan-unit"}, wearer.TapeFlags...)},
}

func (a *app) runAverage(c *cobra.Command, f averageFlags, args []string) error {
	if err := f.check(c); err != nil {
		return err
	}
	if slices.ContainsFunc(args, func(path string) bool { return f.isEpochs(c, path) }) {
		return a.runAverageEpochs(c, f, args)
	}
	if err := checkBareFlags(c); err != nil {
		return err
	}
	work, err := f.pipeline(a, c)
	if err != nil {
		return err
	}
	recordings, closeAll, err := f.inputs.Open(args)
	defer closeAll()
	if err != nil {
		return err
	}
	people, err := f.people(recordings)
	if err != nil {
		return err
	}
	if err := work.fromOthers(recordings); err != nil {
		return err
	}
	if len(f.conditions) == 0 {
		return console.Usagef("--condition is missing: for example --condition known=T1; %s",
			erp.LabelCounts(intake.Events(recordings)))
	}
	out := a.Files(append(everyFile(recordings), work.paths...))
	if err := out.Plan(f.outputs(people)...); err != nil {
		return err
	}
	if err := intake.RefuseCopies(recordings); err != nil {
		return err
	}
	a.Warn(work.unused(f.exclude, baseNames(recordings)))
	if !f.each && len(recordings) > 1 && intake.Silent(recordings) {
		if f.inputs.Plain {
			return console.Usagef("%s: the files of this folder do not say whose they are: add --each "+
				"to average "+
				"them apart, or name those of one person", strings.Join(args, ", "))
		}
		fmt.Fprintln(a.Notes(), "note: the files do not say whether they are of one person: pooled as "+
			"one; --each "+
			"averages them apart")
	}
	run := averaging{app: a, command: c, flags: f, cleaning: work, out: out}
	run.several = len(people) > 1
	run.bar = console.NewBar(a.Stderr, a.Quiet, len(people), "averaging")
	defer run.bar.Clear()
	for _, p := range people {
		if err := run.person(p); err != nil {
			return err
		}
	}
	return nil
}

// baseNames are the names of the recordings' files, without folders.
func baseNames(recordings []*intake.Recording) []string {
	var names []string
	for _, r := range recordings {
		names = append(names, filepath.Base(r.Path))
	}
	return names
}

// everyFile lists the recordings' files and those beside them.
func everyFile(recordings []*intake.Recording) []string {
	var paths []string
	for _, r := range recordings {
		paths = append(append(paths, r.Path), r.Sidecars...)
	}
	return paths
}

// check finds what is wrong with the flags before any file is read.
func (f *averageFlags) check(c *cobra.Command) error {
	changed := c.Flags().Changed
	if err := session.Required(c, "output", "-o averages"); err != nil {
		return err
	}
	if changed("name") {
		if err := averages.CheckStem(f.name); err != nil {
			return err
		}
	}
	if f.response.IsZero() && (f.lock.Response || changed("response-time")) {
		return console.Usagef("which events are the responses is not said: add --response, such as " +
			"--response button")
	}
	return f.cleaningFlags.check(c)
}

// pipeline is what the flags ask for.
func (f *averageFlags) pipeline(a *app, c *cobra.Command) (*cleaning, error) {
	work, err := f.cleaningFlags.read(a, c)
	if err != nil {
		return nil, err
	}
	if err := f.declared.Read(a.compare); err != nil {
		return nil, err
	}
	work.paths, work.sources = append(work.paths, f.declared.Paths()...), append(work.sources, f.declared.Sources()...)
	work.pipeline.Conditions, work.pipeline.Shift, work.pipeline.Centre = f.conditions, f.shift, f.centre
	if !f.response.IsZero() {
		work.pipeline.Responses = &erp.Responses{Events: f.response, Within: f.within, Lock: f.lock.Response}
	}
	return work, nil
}

// people groups the recordings and names the people.
func (f *averageFlags) people(recordings []*intake.Recording) ([]intake.Person, error) {
	people, err := intake.Pool(recordings, f.each)
	if err != nil || f.name == "" {
		return people, err
	}
	if len(people) > 1 {
		return nil, console.Usagef("--name %s would be the name of %d people: leave it out", f.name,
			len(people))
	}
	people[0].Name = f.name
	return people, nil
}

// outputs are the files that the averages may take.
func (f *averageFlags) outputs(people []intake.Person) []string {
	var paths []string
	for _, p := range people {
		for _, cond := range f.conditions {
			paths = append(paths, archive.Paths(f.output, archive.Stem(p.Name, cond.Name))...)
		}
	}
	return paths
}

// averaging is one run of the verb, person by person.
type averaging struct {
	app      *app
	command  *cobra.Command
	flags    averageFlags
	cleaning *cleaning
	out      *disk.Files
	bar      *console.Bar
	several  bool     // people, or sessions of one
	said     []string // notes, each once: what holds for all need not be said for each
}

// person averages the recordings of one person and writes the averages.
func (r *averaging) person(p intake.Person) error {
	if err := erp.CheckConditions(r.cleaning.pipeline.Conditions, intake.Events(p.Recordings)); err != nil {
		return fmt.Errorf("%s: %w", p.Files(), err)
	}
	if !r.flags.response.IsZero() {
		if err := r.flags.response.Check(intake.Events(p.Recordings)); err != nil {
			return fmt.Errorf("%s: --response: %w", p.Files(), err)
		}
	}
	r.cleaning.pipeline.Quality.Mains = r.flags.mainsOf(p)
	keep, err := r.keep(p.Name)
	if err != nil {
		return err
	}
	result, err := r.cleaning.pipeline.Run(r.command.Context(), p.Inputs()...)
	if err != nil {
		return p.Locate(err)
	}
	averages, err := result.Averages(p.Name)
	if err != nil {
		return fmt.Errorf("%s: %w", p.Files(), err)
	}
	inputs, err := p.Sources()
	if err != nil {
		return err
	}
	if err := r.cleaning.changedSince(p, inputs); err != nil {
		return err
	}
	tables, err := r.save(averages, result, keep,
		r.app.Provenance(r.command, append(inputs, r.cleaning.sources...)))
	if err != nil {
		return err
	}
	r.bar.Add(1)
	r.bar.Clear()
	r.say(append(notesOf(p), notesOn(averages, result)...))
	r.say(wholeEpochs(r.cleaning.pipeline, result))
	r.app.Warn(warningsOn(p.Name, averages, result, r.flags.reject.Robust))
	report := reportPerson
	if r.several {
		report = reportKept
	}
	report(r.app.Summary(false), p.Name, averages, result, tables)
	return nil
}

// keep makes the files that take a person's epochs, nil where none are asked
// for, and hangs them into the pipeline.
func (r *averaging) keep(name string) (*archive.Keeper, error) {
	if !r.flags.save {
		return nil, nil
	}
	p := r.cleaning.pipeline
	keep := archive.NewKeeper(r.out, r.flags.output, name, p.Conditions)
	p.Keep = keep.Add
	return keep, nil
}

// save writes a person's averages, and returns the paths of their tables.
func (r *averaging) save(averages []*average.Average, result *erp.Result, keep *archive.Keeper,
	made provenance.Record) ([]string, error) {
	var tables []string
	for i, avg := range averages {
		avg.Info.Provenance = made
		kept, err := keep.Close(i, result.Rows(avg.Info.Condition))
		if err != nil {
			return nil, err
		}
		path, err := archive.Save(r.out, r.flags.output, avg, kept...)
		if err != nil {
			return nil, err
		}
		tables = append(tables, path)
	}
	if err := r.command.Context().Err(); err != nil {
		return nil, err
	}
	return tables, r.out.Write(r.command.Context())
}

// say prints notes, each once.
func (r *averaging) say(notes []string) {
	for _, n := range notes {
		if !slices.Contains(r.said, n) {
			r.said = append(r.said, n)
			console.Say(r.app.Notes(), "note: %s\n", n)
		}
	}
}
