package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/layout"
	"calotte/topo/erp"
	"calotte/topo/recording"
	"calotte/topo/unit"
)

type averageFlags struct {
	conditions conditions
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
		Long: `Average cuts an epoch around every event of a condition, repairs, re-references,
subtracts the baseline, rejects, and averages, in this order.

Several recordings are one person's and are pooled; recordings of different people
(by the sub- label of the file name or the code in the patient field) are refused
unless --each averages them person by person.

For each condition it writes STEM_COND_average.tsv (µV a site), _sem.tsv (standard
errors), _pairs.tsv (right minus left) and _average.json (what was done).`,
		Example: `  calotte average calotte-demo/recordings/sub-01_task-flags_eeg.edf \
    --condition known=known --condition novel=novel \
    --reference average --reject 150uV -o averages`,
		Args: inputs(1, "one recording or more"),
		RunE: func(c *cobra.Command, args []string) error {
			return a.runAverage(c, f, args)
		},
	}
	flags := c.Flags()
	flags.Var(&f.conditions, "condition", "NAME=LABEL[,LABEL]: a condition and its events; repeat for more")
	flags.Var(&f.epoch, "epoch", "time around the event to average")
	flags.Var(&f.baseline, "baseline", "time whose mean becomes zero, or none")
	flags.Var(&f.reference, "reference", "recorded, average, or SITE[,SITE]")
	flags.Var(&f.reject, "reject", "drop epochs that swing by more than this at any site")
	flags.Var(&f.repair, "repair", "SITE[,SITE]: replace bad sites by the spline of the others")
	flags.StringVar(&f.name, "name", "", "`NAME` that the files begin with (default: the participant, or the first recording)")
	flags.BoolVar(&f.each, "each", false, "average recordings of different people, person by person")
	flags.BoolVar(&f.truncated, "allow-truncated", false, "use the whole records of a recording that breaks off")
	flags.StringVarP(&f.output, "output", "o", "", "`FOLDER` for the averages")
	optional(flags, "reject")
	f.head.register(c)
	return c
}

func (a *app) runAverage(c *cobra.Command, f averageFlags, paths []string) error {
	if err := required(c, "output", "-o averages"); err != nil {
		return err
	}
	if !c.Flags().Changed("baseline") && f.baseline.span.From < f.epoch.From {
		f.baseline.span.From = f.epoch.From
	}
	pipeline := erp.Pipeline{
		Conditions: f.conditions, Epoch: f.epoch, Baseline: f.baseline.span,
		Reference: f.reference, Reject: f.reject, Repair: f.repair,
	}
	var heads []erp.Source
	if len(f.repair) > 0 {
		head, err := f.head.read(a, c)
		if err != nil {
			return err
		}
		pipeline.Surface, heads = head.surface, head.sources
	}
	recordings, closeAll, err := openRecordings(paths, recording.Options{AllowTruncated: f.truncated})
	defer closeAll()
	if err != nil {
		return err
	}
	people, err := byPerson(recordings, f.each, f.name)
	if err != nil {
		return err
	}
	if len(f.conditions) == 0 {
		return console.Usagef("--condition is missing: for example --condition known=T1; %s", erp.LabelCounts(events(recordings)))
	}
	out := a.files(paths)
	var planned []string
	for _, p := range people {
		for _, cond := range f.conditions {
			planned = append(planned, archive.Paths(f.output, archive.Stem(p.name, cond.Name))...)
		}
	}
	if err := out.Plan(planned...); err != nil {
		return err
	}
	notes := &onceWriter{w: a.notes(), seen: map[string]bool{}}
	bar := console.NewBar(a.stderr, a.quiet, len(recordings), "averaging")
	defer bar.Clear()
	for _, p := range people {
		averages, result, err := averagePerson(c.Context(), &pipeline, p, bar)
		if err != nil {
			return err
		}
		sources, err := p.sources()
		if err != nil {
			return err
		}
		var tables []string
		for _, avg := range averages {
			avg.Info.Provenance = provenance(c, append(sources, heads...))
			path, err := archive.Save(out, f.output, avg)
			if err != nil {
				return err
			}
			tables = append(tables, path)
		}
		if err := out.Write(); err != nil {
			return err
		}
		bar.Clear()
		reportPerson(a.summary(false), notes, p, averages, result, tables)
	}
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

func reportPerson(w, notes io.Writer, p person, averages []*erp.Average, r *erp.Result, tables []string) {
	for _, rec := range p.recordings {
		for _, n := range rec.Notes {
			fmt.Fprintf(notes, "note: %s: %s\n", filepath.Base(rec.path), n)
		}
	}
	for _, s := range r.Montage.Aside {
		fmt.Fprintf(notes, "note: %s set aside: %s\n", s.Label, s.Reason)
	}
	fmt.Fprintf(w, "%s: %d sites at %g Hz, reference: %s, baseline: %s\n",
		p.name, len(r.Montage.Sites), r.Window.Rate, averages[0].Info.Reference, averages[0].Info.Baseline)
	for i, avg := range averages {
		fmt.Fprintf(w, "  %-12s %s kept%s → %s\n", avg.Info.Condition,
			console.Plural(avg.Info.Epochs.Kept, "epoch", "epochs"), lost(*avg.Info.Epochs), tables[i])
	}
}

// An onceWriter passes each text on once: what holds for all recordings need
// not be said for each.
type onceWriter struct {
	w    io.Writer
	seen map[string]bool
}

func (o *onceWriter) Write(text []byte) (int, error) {
	if o.seen[string(text)] {
		return len(text), nil
	}
	o.seen[string(text)] = true
	return o.w.Write(text)
}

// lost says what became of the other epochs: ", 3 rejected (2 peak to peak, …)".
func lost(c erp.Counts) string {
	if c.Lost() == 0 {
		return ""
	}
	return fmt.Sprintf(", %d rejected (%s)", c.Lost(), c.Reasons())
}

// conditions is a flag that collects conditions.
type conditions []erp.Condition

func (cs *conditions) Set(text string) error {
	var c erp.Condition
	if err := c.Set(text); err != nil {
		return err
	}
	*cs = append(*cs, c)
	return nil
}

func (cs conditions) String() string {
	texts := make([]string, len(cs))
	for i, c := range cs {
		texts[i] = c.String()
	}
	return strings.Join(texts, " ")
}

func (cs conditions) Type() string { return "condition" }

// baseline is a flag that takes a range or none.
type baseline struct{ span *unit.Span }

func (b *baseline) Set(text string) error {
	if text == "none" {
		b.span = nil
		return nil
	}
	var s unit.Span
	if err := s.Set(text); err != nil {
		return err
	}
	b.span = &s
	return nil
}

func (b baseline) String() string {
	if b.span == nil {
		return "none"
	}
	return b.span.String()
}

func (b baseline) Type() string { return "range" }

// names is a flag that takes site names joined by commas.
type names []layout.Name

func (ns *names) Set(text string) error {
	var list names
	for label := range strings.SplitSeq(text, ",") {
		n, err := layout.Parse(label)
		if err != nil {
			return err
		}
		list = append(list, n)
	}
	*ns = list
	return nil
}

func (ns names) String() string {
	texts := make([]string, len(ns))
	for i, n := range ns {
		texts[i] = string(n)
	}
	return strings.Join(texts, ",")
}

func (ns names) Type() string { return "sites" }
