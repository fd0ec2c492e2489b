package main

import (
	"slices"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/figure"
	"calotte/cmd/internal/intake"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/topo/filter"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

type tracesFlags struct {
	sites    option.Names
	pools    option.Pools
	windows  option.WindowNames
	declared figure.Windows
	arrange  option.Arrangement
	maps     bool
	head     wearer.Flags
	during   unit.Span
	limit    unit.Voltage
	down     bool
	band     option.BandKind
	response bool
	epochs   bool
	filter   filter.Design
	averages averages.Flags
	figure   figure.Flags
	spec     figure.Spec
}

func (a *app) traces() *cobra.Command {
	f := &tracesFlags{figure: figure.NewFlags()}
	c := &cobra.Command{
		Use:   "traces AVERAGE…|EPOCHS.npy",
		Short: "Draw waveforms, epochs one by one, or what a filter does",
		Long: `Traces draws amplitudes over time. With --sites or --pool it draws a panel for each,
with a curve for each average; without, a panel for each average, with all its sites
and their global field power.

With --arrange scalp the panels of all sites stand as the sites do on the head. With
--maps the maps of the windows' means hang below the time that they are of.

With --epochs it draws the saved epochs of one condition at a site or pool, a line of
colour each, and the largest peak-to-peak amplitude beside it: look at it before you
decide which to --exclude from an average.

With --response it draws what --highpass, --lowpass and --notch do at a --rate.`,
		Example: `  calotte traces calotte-demo/results/group/pilots_*_average.tsv --sites P7,P8 \
    --window p170=150..190ms -o traces.pdf
  calotte traces calotte-demo/results/group/pilots_known_average.tsv --maps \
    --window 80..110ms --window 150..190ms --window 300..400ms -o hung.svg
  calotte traces --response --highpass 0.1Hz --lowpass 30Hz --rate 500Hz -o response.pdf`,
		Args: f.spec.Args(func(c *cobra.Command, args []string) error {
			if f.response {
				return session.AtMost(0, "no input with --response")(c, args)
			}
			return session.AtLeast(1, "averages, or saved epochs with --epochs")(c, args)
		}),
		RunE: func(c *cobra.Command, args []string) error {
			if f.spec.Schema {
				return figure.PrintSchema(a.Session, c)
			}
			return a.runTraces(c, f, f.spec.All(args))
		},
	}
	flags := c.Flags()
	flags.Var(&f.sites, "sites", "SITE[,SITE]: a panel for each")
	flags.Var(&f.pools, "pool", "NAME=SITE,SITE: a panel for the mean of some sites; repeat for more")
	flags.Var(&f.windows, "window",
		"[NAME=]RANGE: marked below the curves, such as p170=150..190ms; repeat for more")
	f.declared.Register(c, "marked below the curves")
	flags.Var(option.OneOf(&f.arrange, "arrangement", option.InRows, option.OnScalp), "arrange",
		"rows, or scalp: a small panel for each site, where it is on the head")
	flags.BoolVar(&f.maps, "maps", false, "hang the maps of the windows below their time")
	flags.Var(&f.during, "during", "the time to draw (default: all)")
	flags.Var(&f.limit, "limit", "amplitude at both ends of the axis, or of the scale of --epochs")
	flags.BoolVar(&f.down, "positive-down", false, "positive amplitudes point downward")
	flags.Var(&f.band, "band",
		"95%, sem or none (default: 95% where errors are known; of several conditions of the same "+
			"people on their "+
			"difference only)")
	flags.BoolVar(&f.epochs, "epochs", false, "draw saved epochs one by one")
	flags.BoolVar(&f.response, "response", false, "draw what a filter does")
	flags.Var(&f.filter.HighPass, "highpass", "with --response: cut-off, such as 0.1Hz")
	flags.Var(&f.filter.LowPass, "lowpass", "with --response: cut-off, such as 30Hz")
	flags.Var(&f.filter.Notch, "notch", "with --response: mains frequency")
	f.averages.Register(c)
	f.head.Register(c)
	f.figure.Register(c)
	f.spec.Register(a.Session, c)
	session.Optional(flags, "during", "limit", "highpass", "lowpass", "notch")
	option.ShowGroups(c,
		option.Group{Title: "What",
			Names: []string{"sites", "pool", "during", "window", "windows", "maps", "reference", "epochs",
				"response"}},
		option.Group{Title: "How it looks",
			Names: []string{"arrange", "band", "limit", "positive-down", "width"}},
		option.Group{Title: "What is written",
			Names: []string{"output", "dpi", "source-data", "spec", "spec-schema"}},
		option.Group{Title: "A filter's response", Names: []string{"highpass", "lowpass", "notch", "rate"}},
		option.Group{Title: "The head, of --maps and --arrange scalp",
			Names: append([]string{"head"},
				append(slices.Clone(wearer.TapeFlags), "scan", "landmarks", "scan-unit")...)},
	)
	return c
}

func (a *app) runTraces(c *cobra.Command, f *tracesFlags, paths []string) error {
	if err := f.check(c); err != nil {
		return err
	}
	if err := f.declared.Read(); err != nil {
		return err
	}
	draw := a.drawAverages
	switch {
	case f.response:
		draw = a.drawResponse
	case f.epochs:
		draw = a.drawEpochs
	}
	made, err := draw(c, f, paths)
	if err != nil {
		return err
	}
	out := a.Files(slices.Concat(made.paths, f.declared.Paths(), f.spec.Paths()))
	if err := f.figure.Plan(out, made.numbers...); err != nil {
		return err
	}
	sources := slices.Concat(made.sources, f.declared.Sources(), f.spec.Sources())
	if err := f.figure.Put(out, made.figure, a.Provenance(c, sources), made.numbers...); err != nil {
		return err
	}
	if err := c.Context().Err(); err != nil {
		return err
	}
	if err := out.Write(c.Context()); err != nil {
		return err
	}
	console.Say(a.Summary(false), "%s → %s\n", made.what, f.figure.Output)
	return nil
}

// check finds flags that contradict each other.
func (f *tracesFlags) check(c *cobra.Command) error {
	flags := c.Flags()
	if err := f.figure.Check(c, "traces.pdf", 80); err != nil {
		return err
	}
	if f.response && f.epochs {
		return console.Usagef("--response and --epochs are two figures: draw one after the other")
	}
	if flags.Changed("limit") && f.limit <= 0 {
		return console.Usagef("--limit %v: expected more than 0, such as 8uV", f.limit)
	}
	filters, others := []string{"highpass", "lowpass", "notch"}, []string{"sites", "pool", "window", "during",
		"limit",
		"positive-down", "band", "first", "reference", "windows", "maps", "arrange", "head"}
	if !f.response {
		if set := intake.Given(flags, filters...); set != nil {
			return console.Usagef("--%s is for --response: averages are filtered when they are made "+
				"(calotte average)",
				set[0])
		}
	} else if set := intake.Given(flags, others...); set != nil {
		return console.Usagef("--%s has no meaning with --response: leave it out", set[0])
	}
	if f.epochs {
		if set := intake.Given(flags, "positive-down", "band", "rate", "first", "window", "reference",
			"windows",
			"maps", "arrange", "head"); set != nil {
			return console.Usagef("--%s has no meaning with --epochs: leave it out", set[0])
		}
		if len(f.sites)+len(f.pools) != 1 {
			return console.Usagef("--epochs draws one site or pool: add --sites P8, or --pool right=P8,PO8")
		}
	}
	if f.maps && len(f.windows) == 0 && f.declared.Path == "" {
		return console.Usagef("--maps draws the means of windows: add --window 150..190ms, or --windows FILE")
	}
	if f.arrange == option.OnScalp && (len(f.pools) > 0 || f.maps) {
		return console.Usagef("--arrange scalp draws sites where they are: leave --pool and --maps out")
	}
	if flags.Changed("during") && !(f.during.To > f.during.From) {
		return console.Usagef("--during %v: expected a range such as -100..600ms", f.during)
	}
	return nil
}

// places are the sites and pools to draw.
func (f *tracesFlags) places(sites []string) ([]measure.Place, error) {
	list, err := measure.Places(sites, f.sites, f.pools.List())
	for k := len(f.sites); k < len(list); k++ {
		list[k].Title = f.pools[k-len(f.sites)].Describe()
	}
	return list, err
}
