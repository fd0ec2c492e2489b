package main

import (
	"bytes"
	"fmt"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"
	"gonum.org/v1/plot/vg"

	"calotte/cmd/internal/console"
	"calotte/render/canvas"
	"calotte/topo/filter"
	"calotte/topo/unit"
)

type tracesFlags struct {
	sites       names
	pools       pools
	windows     windowNames
	during      unit.Span
	limit       unit.Voltage
	down        bool
	band        bandKind
	response    bool
	epochs      bool
	filter      filter.Design
	clock       clockFlags
	rereference rereferenceFlag
	width       unit.Length
	output      string
}

func (a *app) traces() *cobra.Command {
	f := tracesFlags{width: 180}
	c := &cobra.Command{
		Use:   "traces AVERAGE…|EPOCHS.npy",
		Short: "Draw waveforms, epochs one by one, or what a filter does",
		Long: `Traces draws amplitudes over time. With --sites or --pool it draws a panel for each,
with a curve for each average; without, a panel for each average, with all its sites
and their global field power.

With --epochs it draws the saved epochs of one condition at a site or pool, a line of
colour each, and the largest peak-to-peak amplitude beside it: look at it before you
decide which to --exclude from an average.

With --response it draws what --highpass, --lowpass and --notch do at a --rate.`,
		Example: `  calotte traces calotte-demo/averages/pilots_*_average.tsv --sites P7,P8 \
    --window p170=150..190ms -o traces.pdf
  calotte traces --response --highpass 0.1Hz --lowpass 30Hz --rate 500Hz -o response.pdf`,
		Args: func(c *cobra.Command, args []string) error {
			if f.response {
				return atMost(0, "no input with --response")(c, args)
			}
			return inputs(1, "averages, or saved epochs with --epochs")(c, args)
		},
		RunE: func(c *cobra.Command, args []string) error { return a.runTraces(c, f, args) },
	}
	flags := c.Flags()
	flags.Var(&f.sites, "sites", "SITE[,SITE]: a panel for each")
	flags.Var(&f.pools, "pool", "NAME=SITE,SITE: a panel for the mean of some sites; repeat for more")
	flags.Var(&f.windows, "window", "[NAME=]RANGE: marked below the curves, such as p170=150..190ms; repeat for more")
	flags.Var(&f.during, "during", "the time to draw (default: all)")
	flags.Var(&f.limit, "limit", "amplitude at both ends of the axis, or of the scale of --epochs")
	flags.BoolVar(&f.down, "positive-down", false, "positive amplitudes point downward")
	flags.Var(&f.band, "band", "95%, sem or none (default: 95% where errors are known; of several conditions of the same people on their difference only)")
	flags.BoolVar(&f.epochs, "epochs", false, "draw saved epochs one by one")
	flags.BoolVar(&f.response, "response", false, "draw what a filter does")
	flags.Var(&f.filter.HighPass, "highpass", "with --response: cut-off, such as 0.1Hz")
	flags.Var(&f.filter.LowPass, "lowpass", "with --response: cut-off, such as 30Hz")
	flags.Var(&f.filter.Notch, "notch", "with --response: mains frequency")
	f.rereference.register(c)
	f.clock.register(c)
	flags.Var(&f.width, "width", "of the figure; journals print 85mm, 114mm or 180mm")
	flags.StringVarP(&f.output, "output", "o", "", "`FILE`.png, .svg or .pdf")
	optional(flags, "during", "limit", "highpass", "lowpass", "notch")
	return c
}

func (a *app) runTraces(c *cobra.Command, f tracesFlags, paths []string) error {
	if err := required(c, "output", "-o traces.pdf"); err != nil {
		return err
	}
	format, err := canvas.ParseFormat(filepath.Ext(f.output))
	if err != nil {
		return console.Usagef("-o %s: %w", f.output, err)
	}
	if err := f.check(c); err != nil {
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
	out := a.files(made.paths)
	if err := out.Plan(f.output); err != nil {
		return err
	}
	var b bytes.Buffer
	if err := canvas.Write(&b, made.figure, format, provenance(c, made.sources)); err != nil {
		return err
	}
	if err := c.Context().Err(); err != nil {
		return err
	}
	out.Put(f.output, b.Bytes())
	if err := out.Write(); err != nil {
		return err
	}
	fmt.Fprintf(a.summary(false), "%s → %s\n", made.what, f.output)
	return nil
}

// check finds flags that contradict each other.
func (f *tracesFlags) check(c *cobra.Command) error {
	flags := c.Flags()
	if f.response && f.epochs {
		return console.Usagef("--response and --epochs are two figures: draw one after the other")
	}
	if f.width < 80 || f.width > widest {
		return console.Usagef("--width %v: expected 80mm to %v, such as 180mm", f.width, widest)
	}
	if flags.Changed("limit") && f.limit <= 0 {
		return console.Usagef("--limit %v: expected more than 0, such as 8uV", f.limit)
	}
	filters, others := []string{"highpass", "lowpass", "notch"}, []string{"sites", "pool", "window", "during", "limit", "positive-down", "band", "first", "reference"}
	if !f.response {
		if set := given(flags, filters...); set != nil {
			return console.Usagef("--%s is for --response: averages are filtered when they are made (calotte average)", set[0])
		}
	} else if set := given(flags, others...); set != nil {
		return console.Usagef("--%s has no meaning with --response: leave it out", set[0])
	}
	if f.epochs {
		if set := given(flags, "positive-down", "band", "rate", "first", "window", "reference"); set != nil {
			return console.Usagef("--%s has no meaning with --epochs: leave it out", set[0])
		}
		if len(f.sites)+len(f.pools) != 1 {
			return console.Usagef("--epochs draws one site or pool: add --sites P8, or --pool right=P8,PO8")
		}
	}
	if flags.Changed("during") && !(f.during.To > f.during.From) {
		return console.Usagef("--during %v: expected a range such as -100..600ms", f.during)
	}
	return nil
}

// points is the width of the figure.
func (f *tracesFlags) points() vg.Length { return vg.Length(f.width) * vg.Millimeter }

// places are the sites and pools to draw, each with the indexes of its sites.
func (f *tracesFlags) places(sites []string) ([]place, error) {
	var out []place
	index := siteIndex(sites)
	for _, s := range f.sites {
		i, ok := index[s]
		if !ok {
			return nil, fmt.Errorf("there is no %s: there are %s", s, someOf(sites))
		}
		out = append(out, place{sites[i], []int{i}})
	}
	for _, p := range f.pools {
		pl := place{title: p.describe()}
		for _, s := range p.sites {
			i, ok := index[s]
			if !ok {
				return nil, fmt.Errorf("pool %s: there is no %s: there are %s", p.name, s, someOf(sites))
			}
			pl.sites = append(pl.sites, i)
		}
		out = append(out, pl)
	}
	return out, nil
}

// A place is a site or a pool, and the rows of its sites.
type place struct {
	title string
	sites []int
}

// mean is the mean of a place's rows.
func (p place) mean(rows [][]float64) []float64 {
	out := make([]float64, len(rows[p.sites[0]]))
	for _, i := range p.sites {
		for t, x := range rows[i] {
			out[t] += x / float64(len(p.sites))
		}
	}
	return out
}

// someOf lists names; a long list is cut.
func someOf(names []string) string {
	const most = 20
	text := fmt.Sprint(slices.Clone(names[:min(most, len(names))]))
	if more := len(names) - most; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}
