package main

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/intake"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/layout"
	"calotte/topo/erp"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/reject"
	"calotte/topo/filter"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

// cleaningFlags say what is done to epochs between the recording and the
// average.
type cleaningFlags struct {
	filter   filter.Design
	epoch    unit.Span
	baseline option.Baseline

	unmix     string
	blinks    option.EyeChannels
	repair    option.Repairs
	restore   option.Site
	reference montage.Reference

	reject     option.Rejection
	step       unit.Voltage
	stepOver   unit.Time
	flat       unit.Time
	clipped    bool
	exclude    string
	minimum    int
	mostNoise  unit.Voltage
	mostSME    unit.Voltage
	sameNumber bool

	windows option.Spans
	mains   unit.Frequency
	head    wearer.Flags
}

func newCleaningFlags() cleaningFlags {
	return cleaningFlags{
		epoch:    unit.Span{From: -0.2, To: 0.8},
		baseline: option.Baseline{Span: &unit.Span{From: -0.2, To: 0}},
		stepOver: 0.2,
	}
}

func (f *cleaningFlags) register(c *cobra.Command) {
	flags := c.Flags()
	flags.Var(&f.filter.HighPass, "highpass", "cut-off below which the recording is filtered out, such as 0.1Hz")
	flags.Var(&f.filter.LowPass, "lowpass", "cut-off above which it is filtered out, such as 30Hz")
	flags.Var(&f.filter.Notch, "notch", "mains frequency to take out, with its multiples: 50Hz or 60Hz")
	flags.Var(&f.epoch, "epoch", "time around time zero to average")
	flags.Var(&f.baseline, "baseline", "time whose mean becomes zero, or none")
	flags.StringVar(&f.unmix, "unmix", "",
		"`FILE`_unmix.tsv of your decisions: take these independent components out (calotte unmix)")
	flags.Var(&f.blinks, "blinks",
		"take blinks out by regression on these eye channels, the vertical one first: VEOG, or VEOGu-VEOGl for "+
			"a difference")
	flags.Var(&f.repair, "repair",
		"SITE[,SITE], bad (so marked), found (flat, noisy, unlike its neighbours), excluded (in its "+
			"epoch), each[=10%] (in the epochs where it departs, up to that share of the sites): "+
			"replaced by "+
			"the spline of the others")
	flags.Var(&f.restore, "restore-reference", "`SITE` against which was recorded, to be a site as well")
	flags.Var(&f.reference, "reference", "recorded, average, or SITE[,SITE]")
	flags.Var(&f.reject, "reject",
		"drop epochs that swing by more than this at any site, or robust: limits from the data, a site each")
	flags.Var(&f.step, "reject-step",
		"drop epochs that jump by more than this at any site, between the halves of --step-over")
	flags.Var(&f.stepOver, "step-over", "the time over which a jump is looked for")
	flags.Var(&f.flat, "reject-flat", "drop epochs in which a site stands still for so long, such as 100ms")
	flags.BoolVar(&f.clipped, "reject-clipped", false, "drop epochs in which a site is at the end of its range")
	flags.StringVar(&f.exclude, "exclude", "",
		"`FILE` of your decisions: columns file, onset (in s, as in _epochs.tsv), electrode (n/a: all of "+
			"them), reason")
	flags.IntVar(&f.minimum, "minimum", 0, "`N` epochs that a condition must keep at least, else it is an error")
	flags.Var(&f.mostNoise, "most-noise",
		"noise left (plus-minus average) that a condition may have at most, such as 3uV, else it is an error")
	flags.Var(&f.mostSME, "most-sme",
		"measurement error that a condition may have at most in a window of --sme, median over sites, such as "+
			"2uV, else it is an error")
	flags.BoolVar(&f.sameNumber, "same-number", false, "keep as many epochs in each condition, drawn by --seed")
	flags.Var(&f.windows, "sme",
		"window whose mean amplitude gets a measurement error, such as 150..190ms; repeat for more")
	flags.Var(&f.mains, "mains", "report how much hum of this frequency is left: 50Hz or 60Hz")
	session.Optional(flags, "reject", "reject-step", "reject-flat", "highpass", "lowpass", "notch", "mains",
		"minimum", "most-noise", "most-sme",
		"restore-reference")
	f.head.Register(c)
}

// check finds what is wrong with the flags before any file is read, and lets
// the baseline follow a shorter epoch.
func (f *cleaningFlags) check(c *cobra.Command) error {
	changed := c.Flags().Changed
	for _, positive := range []struct {
		flag  string
		value pflag.Value
		ok    bool
		say   string
	}{
		{"highpass", &f.filter.HighPass, f.filter.HighPass > 0, "or leave it out"},
		{"lowpass", &f.filter.LowPass, f.filter.LowPass > 0, "or leave it out"},
		{"notch", &f.filter.Notch, f.filter.Notch > 0, "or leave it out"},
		{"mains", &f.mains, f.mains > 0, "such as 50Hz"},
		{"most-noise", &f.mostNoise, f.mostNoise > 0, "such as 3uV"},
		{"most-sme", &f.mostSME, f.mostSME > 0, "such as 2uV"},
		{"reject-step", &f.step, f.step > 0, "such as 50uV"},
		{"step-over", &f.stepOver, f.stepOver > 0, "such as 200ms"},
		{"reject-flat", &f.flat, f.flat > 0, "such as 100ms"},
	} {
		if changed(positive.flag) && !positive.ok {
			return console.Usagef("--%s %v: expected more than 0, %s", positive.flag, positive.value,
				positive.say)
		}
	}
	if f.step > option.MostLimit {
		return console.Usagef("--reject-step %v rejects nothing, since no electrode steps so far: "+
			"expected a limit "+
			"such as 50uV", f.step)
	}
	if f.minimum < 0 {
		return console.Usagef("--minimum %d: expected a number of epochs", f.minimum)
	}
	if f.mostSME > 0 && len(f.windows) == 0 {
		return console.Usagef("--most-sme is of the windows of --sme: add one, such as --sme 150..190ms")
	}
	if changed("step-over") && f.step == 0 {
		return console.Usagef("--step-over is for --reject-step: add that, such as --reject-step 50uV")
	}
	if f.filter.LowPass > 0 && f.filter.HighPass >= f.filter.LowPass {
		return console.Usagef("--highpass %v and --lowpass %v let nothing through: the first has to be lower",
			f.filter.HighPass, f.filter.LowPass)
	}
	if head := wearer.HeadGiven(c); head != "" && f.repair.IsZero() {
		return console.Usagef("--%s is for --repair alone, which needs to know where the sites are: leave "+
			"it out, or "+
			"name the sites to repair", head)
	}
	if changed("baseline") {
		return nil
	}
	if f.epoch.From >= 0 || f.epoch.To < 0 {
		return console.Usagef("the epoch %v has no time before the event for a baseline: add "+
			"--baseline none, or "+
			"give a range inside the epoch", f.epoch)
	}
	f.baseline.Span.From = max(f.baseline.Span.From, f.epoch.From)
	return nil
}

// cleaning is a pipeline and the files that it was made of.
type cleaning struct {
	pipeline *erp.Pipeline
	paths    []string
	sources  []provenance.Source
}

// read makes a pipeline of the flags, and reads the files that they name.
func (f *cleaningFlags) read(a *app, c *cobra.Command) (*cleaning, error) {
	p := &erp.Pipeline{
		Epoch: f.epoch, Baseline: f.baseline.Span, Filter: f.filter,
		Eyes: f.blinks, Restore: layout.Name(f.restore), Reference: f.reference,
		Reject: erp.Reject{Swing: f.reject.Limit, Robust: f.reject.Robust, Step: f.step, StepOver: f.stepOver,
			Flat: f.flat, Clipped: f.clipped},
		Repair: f.repair.Repair, Minimum: f.minimum, MostNoise: f.mostNoise, MostSME: f.mostSME,
		SameNumber: f.sameNumber,
		Seed:       a.Seed,
		Quality:    erp.Quality{Windows: f.windows, Mains: f.mains},
	}
	work := &cleaning{pipeline: p}
	if f.exclude != "" {
		b, err := disk.ReadFile(f.exclude)
		if err != nil {
			return nil, err
		}
		if p.Reject.Exclude, err = reject.ReadExclusions(strings.NewReader(string(b))); err != nil {
			return nil, fmt.Errorf("%s: %w", f.exclude, err)
		}
		work.add(f.exclude, b)
	}
	if f.unmix != "" {
		if err := work.readRemoval(a, f.unmix); err != nil {
			return nil, err
		}
	}
	if p.Repair.IsZero() {
		return work, nil
	}
	head, err := f.head.Read(a.Session, c)
	if err != nil {
		return nil, err
	}
	p.Repair.Surface = head.Surface
	work.paths, work.sources = append(work.paths, head.Paths...), append(work.sources, head.Sources...)
	return work, nil
}

// add notes a file that was read.
func (w *cleaning) add(path string, content []byte) {
	w.paths = append(w.paths, path)
	w.sources = append(w.sources, provenance.SourceOf(filepath.Base(path), content))
}

// unused says that no decision of a person's file is about what is averaged,
// which is no mistake where the file is of a whole study, but should be known.
func (w *cleaning) unused(file string, recordings []string) []string {
	about := func(x reject.Exclusion) bool { return slices.Contains(recordings, x.Source) }
	if file == "" || slices.ContainsFunc(w.pipeline.Reject.Exclude, about) {
		return nil
	}
	return []string{fmt.Sprintf("%s holds %s, none of them about %s: compare the names of the files", file,
		console.Plural(len(w.pipeline.Reject.Exclude), "decision", "decisions"),
		strings.Join(recordings, ", "))}
}

// mainsOf is the frequency whose hum is measured for a person: that of the
// flags, else that of the data set or of the notch.
func (f *cleaningFlags) mainsOf(p intake.Person) unit.Frequency {
	for _, r := range p.Recordings {
		if f.mains == 0 && r.Mains > 0 {
			return unit.Frequency(r.Mains)
		}
	}
	if f.mains == 0 {
		return f.filter.Notch
	}
	return f.mains
}
