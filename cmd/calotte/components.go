package main

import (
	"cmp"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/fields"
	"calotte/cmd/internal/figure"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/layout"
	"calotte/topo/contrast"
	"calotte/topo/erp/average"
	"calotte/topo/inference"
	"calotte/topo/measure"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

type componentsFlags struct {
	at           componentWindows
	averages     averages.Flags
	sites        option.Names
	pools        option.Pools
	fraction     float64
	onset        float64
	prefix       string
	difference   option.Factors
	arrangements int
	eachEpoch    bool
	sme          bool
	spline       fields.Spline
	placement    wearer.Placement
	format       option.Format
	output       string

	unknown []string // why standard errors are not known
}

// componentWindows are where components are looked for: on the command line, or
// declared.
type componentWindows struct {
	windows  option.WindowNames
	declared figure.Windows
	polarity measure.Polarity
	from     windowSource
	half     unit.Time
}

// windowSource is a flag that says where windows come from.
type windowSource string

const (
	asGiven       windowSource = "as-given"
	allConditions windowSource = "all-conditions"
)

func (a *app) components() *cobra.Command {
	f := &componentsFlags{fraction: .5, onset: .5, arrangements: 5000, spline: fields.NewSpline()}
	f.at.from, f.at.half = asGiven, .02
	c := &cobra.Command{
		Use:   "components AVERAGE…",
		Short: "Measure amplitudes and latencies in windows",
		Long: `Components measures each average at sites or pools in windows: the mean, the peak and its
latency (a local one of the polarity, which exceeds the mean of the 12 ms on each side,
refined between samples), the onset (backwards from the peak to a fraction of it), the
area of the polarity from one end of the window to the other, between samples or not, and
when a fraction of it is reached. The mean is that of the samples in the window. A row of
the field power (Lehmann & Skrandies 1980) has its own peak, and how unlike the map is to
that of the first average: 0 for one shape, 2 for opposite ones.

Standard errors are over people or epochs, where those behind an average are at hand, by
the jackknife (of the mean it is the usual one; of one person's epochs it is the
measurement error). The table has a row for
each average, window and site, and NA where there is nothing to measure, with the reason;
R and pandas read it as it is.

--each-epoch has a row for each saved epoch instead, for mixed models of single trials:
participant, condition, recording, onset and response_time (s), epoch (of those kept, from
1), component, site and mean (µV), and event_NAME for each column NAME of the events. With
the table of the last example, in R with lme4, or in Python with pandas and statsmodels:

  trials <- read.delim("trials.tsv")
  lmer(mean ~ condition * site + (1 + condition | participant), data = trials)

  trials = pandas.read_table("trials.tsv")
  mixedlm("mean ~ condition * site", trials, groups="participant", re_formula="~condition").fit()

--measurement-errors adds, beside each score, by how much one person's own would spread
over recordings of as many epochs (Luck et al. 2021): mean_sme, peak_sme, peak_latency_sme,
onset_sme, area_sme and area_latency_sme, in the unit of the score. Of the mean it is sd/√n
over the saved epochs, else the sd over 1,000 resamples of them; NA where a tenth of these
have no such score. Of a grand average it is the root mean square over its people: what of
their spread is noise, beside the differences between them.

--difference conditions compares two grand averages of the same people, the first minus
the second, and --difference sides the right site of each mirrored pair with the left one:
of each score the difference of the grand averages with its error by the jackknife
(Miller, Patterson & Ulrich 1998), t, p and 95 % interval, and beside it the mean of the
people's own differences. "Later" in words is of latencies and onsets. Of 2,000 invented
studies without a difference .038 to .056 had a p of .05 or less; of peak latencies by the
jackknife .088: trust those of people, or onsets and latencies of areas.

--difference sides,conditions asks whether right minus left is larger in one condition than
in the other, sites,conditions whether two conditions (the first minus the second) differ
more at one of two sites or pools than at the other, and conditions,groups, of two
conditions in each of two groups, whether they differ more in one group; sides,groups and
sites,groups are of one condition. Each person's own scores are taken, of people who have
all cells; others are named and left out. The table has the means of the four cells, the
main effect of each factor (averaged over the other), its simple effects (at each level of
the other) and the interaction, which is the difference of the differences: with 95 %
intervals by t, and p by flipping the sign of each person's own difference. Between groups
they are Welch's intervals, and p by exchanging people (all ways where these are no more
than --arrangements). Of 2,000 invented studies without an interaction .046 to .049 had a p
of .05 or less.

With --placement scores are those at the ideal sites, read from where the electrodes were,
and mean_placement_se and mean_interpolation_se are what this adds to the error of the
mean, beside mean_se. Of a grand average they are of what all caps share.`,
		Example: `  calotte components calotte-demo/results/group/pilots_known_average.tsv calotte-demo/results/group/pilots_novel_average.tsv \
    --window n170=150..190ms --polarity negative --of P7,P8
  calotte components calotte-demo/results/group/pilots_known_average.tsv \
    calotte-demo/results/group/pilots_novel_average.tsv --window n170=140..220ms --polarity negative \
    --of P7,P8 --difference conditions
  calotte components calotte-demo/results/group/pilots_known_average.tsv \
    calotte-demo/results/group/pilots_novel_average.tsv --window n170=150..190ms --polarity negative \
    --of P7 --difference sides,conditions
  calotte combine calotte-demo/results/sub-0[1-6]/sub-*_average.tsv --name early -o groups
  calotte combine calotte-demo/results/sub-0[7-9]/sub-*_average.tsv calotte-demo/results/sub-1*/sub-*_average.tsv \
    --name late -o groups
  calotte components groups/*_known_average.tsv groups/*_novel_average.tsv --in calotte-demo/results \
    --window n170=150..190ms --of P8 --difference conditions,groups
  calotte components calotte-demo/results/sub-*/sub-*_average.tsv --window 300..400ms --pool parietal=Pz,CPz,POz -o late.tsv
  calotte average calotte-demo/recordings/sub-01/eeg/sub-01_task-flags_eeg.edf --condition known=known \
    --condition novel=novel --reject 150uV --save-epochs -o saved
  calotte components saved/sub-01_known_average.tsv --window n170=150..190ms --polarity negative --of P7,P8 \
    --measurement-errors
  calotte average calotte-demo/recordings --participant 01,02,03,04 --each --condition known=known \
    --condition novel=novel --reject 150uV --save-epochs -o saved
  calotte components saved/sub-*_average.tsv --window n170=150..190ms --of P7,P8 --each-epoch -o trials.tsv`,
		Args: session.AtLeast(1, "averages"),
		RunE: func(c *cobra.Command, args []string) error { return a.runComponents(c, f, args) },
	}
	flags := c.Flags()
	flags.Var(&f.at.windows, "window", "[NAME=]RANGE to measure in, such as n170=150..190ms; repeat for more")
	f.at.declared.Register(c, "with polarity and sites if wanted")
	flags.Var(&f.at.polarity, "polarity",
		"of the component: positive, negative or either; a file of windows has its own")
	flags.Var(&f.sites, "of", "SITE[,SITE] (default: those of the windows' file, or all)")
	flags.Var(&f.pools, "pool", "NAME=SITE,SITE: measure the mean of some sites; repeat for more")
	flags.Var(option.OneOf(&f.at.from, "source", asGiven, allConditions), "window-from",
		"as-given, or all-conditions: about the peak, in the window given, of the mean over all "+
			"averages, so that "+
			"the latency is found blind to condition")
	flags.Var(&f.at.half, "half-width",
		"with --window-from all-conditions: how far the window reaches from the peak")
	flags.Float64Var(&f.fraction, "fraction", f.fraction, "`SHARE` of the area whose latency is taken")
	flags.Float64Var(&f.onset, "onset", f.onset, "`SHARE` of the peak at which it begins")
	flags.StringVar(&f.prefix, "prefix", "",
		"`TEXT` before the names of components, where one is also a site's (P1, N1)")
	flags.BoolVar(&f.eachEpoch, "each-epoch", false, "a row for each saved epoch, with its mean")
	flags.BoolVar(&f.sme, "measurement-errors", false,
		"columns for each person's own measurement error, from the saved epochs; of a group their root "+
			"mean square")
	flags.Var(&f.difference, "difference",
		"test differences of scores between conditions (of two grand averages) or sides, or of two "+
			"factors, such as sides,conditions or conditions,groups")
	session.Optional(flags, "difference")
	flags.IntVar(&f.arrangements, "arrangements", f.arrangements,
		"of two factors: `N` sign flips or exchanges to draw, where there are more")
	f.averages.RegisterFolders(c, "a grand average's participants in")
	f.averages.Register(c)
	f.placement.Register(c)
	f.spline.Register(c, "")
	flags.Var(&f.format, "format", "of the table: tsv or json")
	flags.StringVarP(&f.output, "output", "o", "", "`FILE`.tsv for the table, with a JSON beside it")
	option.ShowGroups(c,
		option.Group{Title: "What",
			Names: []string{"window", "windows", "polarity", "of", "pool", "window-from", "half-width",
				"reference",
				"in", "difference", "arrangements", "each-epoch", "measurement-errors", "placement",
				"placement-shared"}},
		option.Group{Title: "Definitions", Names: []string{"fraction", "onset", "prefix"}},
		option.Group{Title: "What is written", Names: []string{"output", "format"}},
		option.Group{Title: "The field and the head, for --placement",
			Names: append([]string{"spline-order", "spline-smoothing", "head", "electrodes"},
				append(slices.Clone(wearer.TapeFlags), "scan", "landmarks", "scan-unit")...)},
	)
	return c
}

func (f *componentsFlags) check(c *cobra.Command) error {
	switch {
	case f.output != "" && strings.ToLower(filepath.Ext(f.output)) != ".tsv":
		return console.Usagef("-o %s: expected a name that ends in .tsv", f.output)
	case f.output != "" && c.Flags().Changed("format"):
		return console.Usagef("--format is for the standard output: leave it out with -o")
	case len(f.at.windows) == 0 && f.at.declared.Path == "":
		return console.Usagef("--window is missing: for example --window n170=150..190ms")
	case c.Flags().Changed("half-width") && (f.at.from == asGiven || f.at.half <= 0):
		return console.Usagef("--half-width %v: expected more than 0, with --window-from all-conditions",
			f.at.half)
	case !(f.fraction > 0 && f.fraction < 1):
		return console.Usagef("--fraction %v: expected a share such as 0.5", f.fraction)
	case !(f.onset > 0 && f.onset < 1):
		return console.Usagef("--onset %v: expected a share such as 0.5", f.onset)
	case f.difference != nil && (f.eachEpoch || f.sme || f.placement.Asked()):
		return console.Usagef("--difference has a table of its own: leave --each-epoch, --measurement-errors " +
			"and --placement out")
	case c.Flags().Changed("arrangements") && !f.difference.Two():
		return console.Usagef("--arrangements is for two factors: leave it out, or add --difference " +
			"sides,conditions")
	case f.arrangements < 99:
		return console.Usagef("--arrangements %d: expected 99 or more", f.arrangements)
	case f.eachEpoch && f.sme:
		return console.Usagef("--measurement-errors are of averages: leave it out with --each-epoch")
	case f.eachEpoch && f.placement.Asked():
		return console.Usagef("--placement is of averages: leave it out with --each-epoch")
	case !f.placement.Asked() && wearer.HeadGiven(c) != "":
		return console.Usagef("--%s is for --placement: leave it out, or add --placement 5mm",
			wearer.HeadGiven(c))
	}
	return cmp.Or(f.averages.Check(), f.spline.Check(), f.placement.Check(c))
}

// list are the windows to measure in, with names that no site has.
func (f *componentsFlags) list() ([]measure.Window, error) {
	var out []measure.Window
	for _, w := range f.at.windows {
		out = append(out, measure.Window{Name: w.Name, Span: w.Span, Polarity: f.at.polarity})
	}
	for _, w := range f.at.declared.Declared {
		if w.Polarity == measure.Either {
			w.Polarity = f.at.polarity
		}
		out = append(out, w)
	}
	for i, w := range out {
		out[i].Name = f.prefix + w.Name
		if _, err := layout.Parse(out[i].Name); err == nil {
			return nil, console.Usagef("the component %s has the name of a site: name it "+
				"otherwise, or add a "+
				"--prefix such as c_", out[i].Name)
		}
	}
	return out, nil
}

func (a *app) runComponents(c *cobra.Command, f *componentsFlags, paths []string) error {
	if err := cmp.Or(f.check(c), a.bounded(mostArrangements, f.arrangements)); err != nil {
		return err
	}
	if err := f.at.declared.Read(); err != nil {
		return err
	}
	windows, err := f.list()
	if err != nil {
		return err
	}
	tables, err := f.averages.ReadMeans(a.Session, c, paths)
	if err != nil {
		return err
	}
	table := averages.SavedTable{Path: f.output, Columns: componentColumns}
	out := a.Files(slices.Concat(tables.Files, f.at.declared.Paths()))
	if f.output != "" {
		if err := out.Plan(table.Path, table.JSON()); err != nil {
			return err
		}
	}
	scoring := contrast.Scoring{Sites: f.sites, Pools: f.pools.List(), Fraction: f.fraction, Onset: f.onset}
	var over *fields.Fields // with --placement: the averages over the head
	if f.placement.Asked() {
		table.Columns = slices.Concat(table.Columns, placedColumns)
		if over, err = f.spline.Read(a.Session, c, tables, fields.When{}); err != nil {
			return err
		}
	}
	if f.sme {
		table.Columns = slices.Concat(table.Columns, smeColumns)
	}
	found, err := f.blind(scoring, tables, windows)
	if err != nil {
		return err
	}
	var words []string
	switch {
	case f.difference.Two():
		table.Columns = crossedColumns
		asked := contrast.TwoFactors{Scoring: scoring, First: f.difference[0], Second: f.difference[1],
			Test: inference.Options{Arrangements: f.arrangements, Seed: a.Seed}}
		table.Rows, words, err = crossed(c.Context(), asked, tables, found)
	case f.difference != nil:
		table.Columns = differenceColumns
		table.Rows, words, err = f.differences(c.Context(), scoring, tables, found)
	case f.eachEpoch:
		table.Columns, table.Rows, err = eachEpoch(c.Context(), scoring, tables, found)
	default:
		table.Rows, err = f.measured(c.Context(), scoring, tables, over, found, a.Seed)
	}
	if err != nil {
		return err
	}
	if f.output == "" {
		err = f.print(a.Stdout, table)
	} else {
		record := averages.TableRecord{
			What: "components, in µV, s and µV·s", Remarks: []string{f.at.declared.Remark("Windows")},
			Provenance: a.Provenance(c,
				slices.Concat(averages.Sources(tables.Averages), f.at.declared.Sources(),
					f.headSources(over))),
			Synthetic: slices.ContainsFunc(tables.Averages,
				func(a *average.Average) bool { return a.Info.Synthetic }),
		}
		if err = table.Put(out, record); err == nil {
			err = out.Write(c.Context())
		}
	}
	if err != nil {
		return err
	}
	w := a.Summary(f.output == "")
	for _, line := range words {
		console.Say(w, "%s\n", line)
	}
	console.Say(w, "%s of %s; amplitudes in µV, latencies in s, areas in µV·s\n",
		console.Plural(len(table.Rows), "row", "rows"), console.Plural(len(windows), "component", "components"))
	for _, line := range append(f.unknown, f.at.declared.Remark("Windows")) {
		console.Say(w, "%s\n", line)
	}
	return nil
}

// headSources are those of the head and of the cap checks; none without
// --placement.
func (f *componentsFlags) headSources(over *fields.Fields) []provenance.Source {
	if over == nil {
		return nil
	}
	return slices.Concat(over.Head.Sources, f.placement.Sources())
}

// blind replaces each window, where that is asked, by one about the peak of the
// mean over all averages.
func (f *componentsFlags) blind(scoring contrast.Scoring, t *averages.Tables,
	windows []measure.Window) ([]measure.Window, error) {
	if f.at.from == asGiven {
		return windows, nil
	}
	found, err := scoring.About(t.Averages, windows, f.at.half)
	if of, ok := errors.AsType[*contrast.AverageError](err); ok {
		if errors.Is(err, contrast.ErrOtherSamples) {
			return nil, fmt.Errorf("%s and %s have other samples: one latency for all needs the same",
				t.Paths[0],
				t.Paths[of.Index])
		}
		return nil, fmt.Errorf("%s: %w", t.Paths[of.Index], of.Err)
	}
	if _, ok := errors.AsType[*contrast.WindowError](err); ok {
		err = fmt.Errorf("%w, or leave --window-from out", err)
	}
	return found, err
}
