package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/topo/erp"
	"calotte/topo/filter"
	"calotte/topo/recording"
	"calotte/topo/unit"
)

type averageFlags struct {
	conditions conditions
	filter     filter.Design
	epoch      unit.Span
	baseline   baseline
	reference  erp.Reference
	reject     unit.Voltage
	repair     names
	name       string
	each       bool
	truncated  bool
	head       headFlags
	output     string
}

func (a *app) average() *cobra.Command {
	f := averageFlags{
		epoch:    unit.Span{From: -0.2, To: 0.8},
		baseline: baseline{span: &unit.Span{From: -0.2, To: 0}},
	}
	c := &cobra.Command{
		Use:   "average RECORDING…",
		Short: "Average the epochs around events, condition by condition",
		Long: `Average filters the recording where asked to, cuts an epoch around every event of a
condition, repairs, re-references, subtracts the baseline, rejects, and averages, in
this order. Filters have zero phase: they delay nothing, and spread onsets backwards.

Several recordings are one person's and are pooled; recordings of different people
(by the sub- label of the file name or the code in the patient field) are refused
unless --each averages them person by person. Where neither is there, they are
pooled with a note.

For each condition it writes STEM_COND_average.tsv (µV a site), _sem.tsv (standard
errors), _pairs.tsv (right minus left) and _average.json (what was done).`,
		Example: `  calotte average calotte-demo/recordings/sub-01_task-flags_eeg.edf \
    --condition known=known --condition novel=novel \
    --reference average --reject 150uV -o averages
  calotte average calotte-demo/recordings/sub-01_task-flags_eeg.edf \
    --condition known=known --highpass 0.1Hz --lowpass 30Hz -o filtered`,
		Args: inputs(1, "one recording or more"),
		RunE: func(c *cobra.Command, args []string) error {
			return a.runAverage(c, f, args)
		},
	}
	flags := c.Flags()
	flags.Var(&f.conditions, "condition", "NAME=LABEL[,LABEL]: a condition and its events; repeat for more")
	flags.Var(&f.filter.HighPass, "highpass", "cut-off below which the recording is filtered out, such as 0.1Hz")
	flags.Var(&f.filter.LowPass, "lowpass", "cut-off above which it is filtered out, such as 30Hz")
	flags.Var(&f.filter.Notch, "notch", "mains frequency to take out, with its multiples: 50Hz or 60Hz")
	flags.Var(&f.epoch, "epoch", "time around the event to average")
	flags.Var(&f.baseline, "baseline", "time whose mean becomes zero, or none")
	flags.Var(&f.reference, "reference", "recorded, average, or SITE[,SITE]")
	flags.Var(&f.reject, "reject", "drop epochs that swing by more than this at any site")
	flags.Var(&f.repair, "repair", "SITE[,SITE]: replace bad sites by the spline of the others")
	flags.StringVar(&f.name, "name", "", "`NAME` that the files begin with (default: the participant, or the first recording)")
	flags.BoolVar(&f.each, "each", false, "average recordings of different people, person by person")
	flags.BoolVar(&f.truncated, "allow-truncated", false, "use the whole records of a recording that breaks off")
	flags.StringVarP(&f.output, "output", "o", "", "`FOLDER` for the averages")
	optional(flags, "reject", "highpass", "lowpass", "notch")
	f.head.register(c)
	return c
}

func (a *app) runAverage(c *cobra.Command, f averageFlags, paths []string) error {
	if err := f.check(c); err != nil {
		return err
	}
	pipeline, head, err := f.pipeline(a, c)
	if err != nil {
		return err
	}
	recordings, closeAll, err := openRecordings(paths, recording.Options{AllowTruncated: f.truncated})
	defer closeAll()
	if err != nil {
		return err
	}
	people, err := f.people(recordings)
	if err != nil {
		return err
	}
	if len(f.conditions) == 0 {
		return console.Usagef("--condition is missing: for example --condition known=T1; %s", erp.LabelCounts(events(recordings)))
	}
	out := a.files(append(slices.Clone(paths), head.paths...))
	if err := out.Plan(f.outputs(people)...); err != nil {
		return err
	}
	if err := refuseCopies(recordings); err != nil {
		return err
	}
	if !f.each && len(recordings) > 1 && silent(recordings) {
		fmt.Fprintln(a.notes(), "note: the files do not say whether they are of one person: pooled as one; --each averages them apart")
	}
	run := averaging{app: a, command: c, flags: f, pipeline: pipeline, head: head, out: out}
	run.bar = console.NewBar(a.stderr, a.quiet, len(recordings), "averaging")
	defer run.bar.Clear()
	for _, p := range people {
		if err := run.person(p); err != nil {
			return err
		}
	}
	return nil
}

// check finds what is wrong with the flags before any file is read, and lets the
// baseline follow a shorter epoch.
func (f *averageFlags) check(c *cobra.Command) error {
	changed := c.Flags().Changed
	if err := required(c, "output", "-o averages"); err != nil {
		return err
	}
	if changed("name") {
		if err := checkStem(f.name); err != nil {
			return err
		}
	}
	if changed("reject") && f.reject <= 0 {
		return console.Usagef("--reject %v: expected more than 0, such as 150uV", f.reject)
	}
	for _, cutoff := range []struct {
		flag string
		unit.Frequency
	}{{"highpass", f.filter.HighPass}, {"lowpass", f.filter.LowPass}, {"notch", f.filter.Notch}} {
		if changed(cutoff.flag) && cutoff.Frequency <= 0 {
			return console.Usagef("--%s %v: expected more than 0, or leave it out", cutoff.flag, cutoff.Frequency)
		}
	}
	if f.filter.LowPass > 0 && f.filter.HighPass >= f.filter.LowPass {
		return console.Usagef("--highpass %v and --lowpass %v let nothing through: the first has to be lower", f.filter.HighPass, f.filter.LowPass)
	}
	if head := headGiven(c); head != "" && len(f.repair) == 0 {
		return console.Usagef("--%s is for --repair alone, which needs to know where the sites are: leave it out, or name the sites to repair", head)
	}
	if changed("baseline") {
		return nil
	}
	if f.epoch.From >= 0 || f.epoch.To < 0 {
		return console.Usagef("the epoch %v has no time before the event for a baseline: add --baseline none, or give a range inside the epoch", f.epoch)
	}
	f.baseline.span.From = max(f.baseline.span.From, f.epoch.From)
	return nil
}

// pipeline is what the flags ask for. The head is empty where nothing is repaired.
func (f *averageFlags) pipeline(a *app, c *cobra.Command) (*erp.Pipeline, *headModel, error) {
	p := &erp.Pipeline{
		Conditions: f.conditions, Epoch: f.epoch, Baseline: f.baseline.span,
		Filter: f.filter, Reference: f.reference, Reject: f.reject, Repair: f.repair,
	}
	if len(f.repair) == 0 {
		return p, &headModel{}, nil
	}
	head, err := f.head.read(a, c)
	if err != nil {
		return nil, nil, err
	}
	p.Surface = head.surface
	return p, head, nil
}

// people groups the recordings and names the people.
func (f *averageFlags) people(recordings []*openRecording) ([]person, error) {
	people, err := pool(recordings, f.each)
	if err != nil || f.name == "" {
		return people, err
	}
	if len(people) > 1 {
		return nil, console.Usagef("--name %s would be the name of %d people: leave it out", f.name, len(people))
	}
	people[0].name = f.name
	return people, nil
}

// outputs are the files that the averages may take.
func (f *averageFlags) outputs(people []person) []string {
	var paths []string
	for _, p := range people {
		for _, cond := range f.conditions {
			paths = append(paths, archive.Paths(f.output, archive.Stem(p.name, cond.Name))...)
		}
	}
	return paths
}

// averaging is one run of the verb, person by person.
type averaging struct {
	app      *app
	command  *cobra.Command
	flags    averageFlags
	pipeline *erp.Pipeline
	head     *headModel
	out      *console.Files
	bar      *console.Bar
	said     []string // notes, each once: what holds for all need not be said for each
}

// person averages the recordings of one person and writes the averages.
func (r *averaging) person(p person) error {
	averages, result, err := averagePerson(r.command.Context(), r.pipeline, p, r.bar)
	if err != nil {
		return err
	}
	inputs, err := p.sources()
	if err != nil {
		return err
	}
	inputs = append(inputs, r.head.sources...)
	var tables []string
	for _, avg := range averages {
		avg.Info.Provenance = provenance(r.command, inputs)
		path, err := archive.Save(r.out, r.flags.output, avg)
		if err != nil {
			return err
		}
		tables = append(tables, path)
	}
	if err := r.command.Context().Err(); err != nil {
		return err
	}
	if err := r.out.Write(); err != nil {
		return err
	}
	r.bar.Clear()
	for _, n := range notesOn(p, averages, result) {
		if !slices.Contains(r.said, n) {
			r.said = append(r.said, n)
			fmt.Fprintf(r.app.notes(), "note: %s\n", n)
		}
	}
	reportPerson(r.app.summary(false), p, averages, result, tables)
	return nil
}

// averagePerson runs the pipeline over the recordings of one person.
func averagePerson(ctx context.Context, p *erp.Pipeline, who person, bar *console.Bar) ([]*erp.Average, *erp.Result, error) {
	if err := erp.CheckConditions(p.Conditions, events(who.recordings)); err != nil {
		return nil, nil, fmt.Errorf("%s: %w", who.files(), err)
	}
	var total *erp.Result
	for _, r := range who.recordings {
		result, err := p.Run(ctx, r.Recording)
		if err != nil {
			return nil, nil, fmt.Errorf("%s: %w", r.path, err)
		}
		if total == nil {
			total = result
		} else if err := total.Merge(result); err != nil {
			return nil, nil, fmt.Errorf("%s: %w", r.path, err)
		}
		bar.Add(1)
	}
	averages, err := total.Averages(p, who.name)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", who.files(), err)
	}
	return averages, total, nil
}

// notesOn says what is remarkable about the recordings and their averages.
func notesOn(p person, averages []*erp.Average, r *erp.Result) []string {
	var notes []string
	say := func(format string, args ...any) { notes = append(notes, fmt.Sprintf(format, args...)) }
	for _, rec := range p.recordings {
		for _, n := range rec.Notes {
			say("%s: %s", filepath.Base(rec.path), n)
		}
	}
	for _, s := range r.Montage.Aside {
		say("%s set aside: %s", s.Label, s.Reason)
	}
	for _, caution := range r.Cautions {
		say("%s", caution)
	}
	for i, avg := range averages {
		for _, n := range avg.Info.Notes {
			say("%s", n)
		}
		for _, o := range averages[:i] {
			if slices.Contains(avg.Info.Shares, o.Info.Condition) {
				say("conditions %s and %s share epochs: one cannot be subtracted from the other", o.Info.Condition, avg.Info.Condition)
			}
		}
	}
	return notes
}

func reportPerson(w io.Writer, p person, averages []*erp.Average, r *erp.Result, tables []string) {
	fmt.Fprintf(w, "%s: %s at %g Hz, reference: %s, baseline: %s\n", p.name,
		console.Plural(len(r.Montage.Sites), "site", "sites"), r.Window.Rate, averages[0].Info.Reference, averages[0].Info.Baseline)
	for i, avg := range averages {
		fmt.Fprintf(w, "  %-12s %s kept%s → %s\n", avg.Info.Condition,
			console.Plural(avg.Info.Epochs.Kept, "epoch", "epochs"), lost(*avg.Info.Epochs), tables[i])
	}
}

// lost says what became of the other epochs: ", 3 rejected (2 peak to peak, …)".
func lost(c erp.Counts) string {
	if c.Lost() == 0 {
		return ""
	}
	return fmt.Sprintf(", %d rejected (%s)", c.Lost(), c.Reasons())
}
