package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/cohort"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/figure"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/rehearsal"
	"calotte/layout"
	"calotte/topo/contrast"
	"calotte/topo/erp"
	"calotte/topo/inference"
	"calotte/topo/measure"
	"calotte/topo/provenance"
	"calotte/topo/rehearse"
	"calotte/topo/unit"
)

type rehearseFlags struct {
	conditions string
	windows    figure.Windows
	window     string
	of         option.Site
	effects    option.Voltages
	between    unit.Voltage
	like       string
	people     option.Counts
	epochs     option.Counts
	rehearsals int
	arrange    int
	whole      bool
	figure     figure.Flags
}

func (a *app) rehearse() *cobra.Command {
	f := &rehearseFlags{rehearsals: 1000, arrange: 1000, figure: figure.NewFlags(),
		effects: option.Voltages{0.5, 1, 2}}
	c := &cobra.Command{
		Use:   "rehearse RECIPE",
		Short: "Plan a study: what would it find, on this lab's own noise?",
		Long: `Rehearse runs the test of a window's mean, known against novel, many times before the
study is run. The noise is the lab's own: the epochs of the people of the recipe, cut and
cleaned as it says, both conditions pooled so that nothing tells them apart. Each rehearsal
draws people and epochs with replacement, plants an effect in one condition, and tests it as
the study would: by sign flips over people, with 95 % intervals by t. It also takes right
minus left of the difference.

The effect is that of a source beneath the electrode, 1 µV there, or with --like the map of
a measured difference, scaled to it. People differ in their noise; that their effects
differ as well has to be said by --between-sd, and where you have it from, since few
people's recordings understate it.

With --whole the recipe's first test of compare is run on each rehearsal, too, over all
sites and samples, where the effect is a bump of twice the window's width whose mean over
the window is its size. That takes a hundred times as long: ask for some 100 --rehearsals.

It tells how often an effect is found (power) over people × epochs, how often one is found
that is not there, each with its interval (Wilson 1927), and the smallest effect that 80 %
find. In 2,000 rehearsals of known noise power agreed with the noncentral t, false ones were
4.9 to 6.0 %, and intervals held the truth in 94 to 95 %.`,
		Example: `  calotte rehearse calotte-demo/recipe.yaml --window n170 --of P8 --people 12,24 --epochs 30,60
  calotte rehearse calotte-demo/recipe.yaml --of P8 --people 8,16,24,32 --epochs 30,60 --effect 1uV \
    --between-sd 1uV -o power.png`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return console.Usagef("rehearse needs one recipe: see calotte rehearse --help")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error { return a.runRehearse(c, f, args[0]) },
	}
	flags := c.Flags()
	flags.StringVar(&f.conditions, "conditions", "",
		"`TWO` that are compared, such as known,novel (default: the first two of the recipe)")
	f.windows.Register(c, "to choose --window from (default: that of the recipe)")
	flags.StringVar(&f.window, "window", "",
		"a `NAME` of the declared windows, or a range such as 150..190ms (default: the first that names the site)")
	flags.Var(&f.of, "of", "`SITE` that is tested (default: the last that the window names)")
	flags.Var(&f.effects, "effect", "sizes of the effect at the site, such as 0.5uV,1uV,2uV")
	flags.Var(&f.between, "between-sd", "standard deviation of the effect between people")
	flags.StringVar(&f.like, "like", "", "`AVERAGE` of a measured difference whose map the effect has")
	flags.Var(&f.people, "people", "of which sizes the study is rehearsed (default: as many as there are, and twice)")
	flags.Var(&f.epochs, "epochs",
		"of epochs a condition and person (default: as many as the middle person has, and half)")
	flags.IntVar(&f.rehearsals, "rehearsals", f.rehearsals, "`N` of each number of people and epochs")
	flags.IntVar(&f.arrange, "arrangements", f.arrange, "`N` sign flips to draw, where there are more")
	flags.BoolVar(&f.whole, "whole", false, "also run the recipe's test of compare, over all sites and samples")
	f.figure.Register(c)
	flags.Lookup("output").Usage = "`FILE`.tsv for the table, with a JSON beside it; .png, .svg, .pdf or .tiff for " +
		"the figure"
	option.ShowGroups(c,
		option.Group{Title: "What is tested", Names: []string{"conditions", "windows", "window", "of", "whole"}},
		option.Group{Title: "What is planted", Names: []string{"effect", "between-sd", "like"}},
		option.Group{Title: "How large, and how often",
			Names: []string{"people", "epochs", "rehearsals", "arrangements"}},
		option.Group{Title: "What is written", Names: []string{"output", "width", "dpi", "source-data"}},
	)
	return c
}

// Bounds of one run: more than anybody plans with.
var mostRehearsed = bound{"draws of epochs", 2_000_000_000, 100_000_000,
	"rehearse fewer people, epochs or times (--people, --epochs, --rehearsals)"}

func (f *rehearseFlags) check(a *app, c *cobra.Command) error {
	if err := f.figure.CheckDrawn(c, "power.png", 80); err != nil {
		return err
	}
	if f.figure.Drawn() && len(f.people) == 1 {
		return console.Usagef("a figure is drawn over two numbers of people or more: --people 12,24")
	}
	if f.arrange < 99 {
		return console.Usagef("--arrangements %d: expected 99 or more", f.arrange)
	}
	if f.rehearsals < 20 {
		return console.Usagef("--rehearsals %d: expected 20 or more", f.rehearsals)
	}
	if f.between < 0 {
		return console.Usagef("--between-sd %v: expected 0 or more", f.between)
	}
	if one, other, _ := strings.Cut(f.conditions, ","); f.conditions != "" &&
		(other == "" || one == other || strings.Contains(other, ",")) {
		return console.Usagef("--conditions %s: expected two, such as known,novel", f.conditions)
	}
	for _, n := range f.people {
		if n < 2 {
			return console.Usagef("--people %d: expected two or more", n)
		}
	}
	return a.bounded(mostArrangements, f.arrange)
}

func (a *app) runRehearse(c *cobra.Command, f *rehearseFlags, path string) error {
	if err := f.check(a, c); err != nil {
		return err
	}
	s, err := a.readStudy(path)
	if err != nil {
		return err
	}
	run := &rehearsing{rehearseFlags: f, app: a, command: c}
	if err := run.read(c.Context(), s); err != nil {
		return err
	}
	out := a.Files(append(run.noise.Files, path))
	table := averages.SavedTable{Path: f.figure.TablePath(), Columns: rehearsedColumns}
	if err := table.Plan(out); err != nil {
		return err
	}
	if err := run.all(c.Context()); err != nil {
		return err
	}
	table.Rows = run.cells()
	if f.figure.Drawn() {
		err = run.draw(out)
	} else {
		err = table.Deliver(c.Context(), a.Stdout, out, averages.TableRecord{What: "rehearsals of " + run.title(),
			Words: run.words(), Remarks: run.remarks(), Provenance: run.made(), Synthetic: run.noise.Synthetic})
	}
	if err != nil {
		return err
	}
	w := a.Summary(f.figure.Output == "")
	for _, line := range append(run.words(), run.remarks()...) {
		console.Say(w, "%s\n", line)
	}
	return nil
}

// rehearsing is one run of the verb.
type rehearsing struct {
	*rehearseFlags
	app     *app
	command *cobra.Command

	noise    rehearsal.Noise
	test     contrast.Comparison // with --whole: of the recipe
	label    string              // of the window
	leftOut  []string            // who is, and why, in words
	compared []string            // the two conditions
	found    []rehearsed
}

// read finds what is tested, and the people's epochs of it.
func (r *rehearsing) read(ctx context.Context, s *cohort.Study) error {
	r.compared = s.Conditions()[:min(2, len(s.Conditions()))]
	if r.conditions != "" {
		r.compared = strings.Split(r.conditions, ",")
	}
	if len(r.compared) != 2 {
		return fmt.Errorf("%s averages one condition: expected two to compare", s.Path)
	}
	for _, name := range r.compared {
		if !slices.Contains(s.Conditions(), name) {
			return console.Usagef("--conditions: the recipe has no %s, but %s", name,
				strings.Join(s.Conditions(), ", "))
		}
	}
	if r.windows.Path == "" {
		r.windows.Path = s.Windows()
	}
	if err := r.windows.Read(); err != nil {
		return err
	}
	if err := r.choose(); err != nil {
		return err
	}
	r.noise.Of, r.noise.Like = layout.Name(r.of), r.like
	if r.whole {
		if err := r.readTest(s); err != nil {
			return err
		}
	}
	recipe, err := s.Source()
	if err != nil {
		return err
	}
	r.noise.Files, r.noise.Sources = r.windows.Paths(), append(r.windows.Sources(), recipe)
	bar := console.NewBar(r.app.Stderr, r.app.Quiet, len(s.People), "averaging")
	defer bar.Clear()
	for _, x := range s.People {
		err := x.Err
		if err == nil {
			err = r.person(ctx, s, x)
		}
		if _, byRule := errors.AsType[*erp.RuleError](err); byRule || x.Err != nil {
			r.leftOut = append(r.leftOut, fmt.Sprintf("Left out: %s, since %v.", x.Name, err))
		} else if err != nil {
			return fmt.Errorf("%s: %w", x.Name, err)
		}
		bar.Add(1)
	}
	if len(r.noise.Study.People) == 0 {
		return fmt.Errorf("%s: nobody is left, since all lack recordings or break a rule of the recipe: see calotte "+
			"cohort plan", s.Path)
	}
	return r.sizes()
}

// readTest finds the recipe's test of compare.
func (r *rehearsing) readTest(s *cohort.Study) error {
	args, ok := s.Comparison()
	if !ok {
		return fmt.Errorf("%s has no test of compare, which --whole runs", s.Path)
	}
	f := newCompareFlags()
	c := r.app.compareBy(f)
	if err := c.ParseFlags(args); err != nil {
		return err
	}
	r.test = f.comparison(r.app, c)
	r.noise.Whole, r.noise.During = &rehearse.Whole{Between: float64(r.between)}, r.test.During
	return nil
}

// person averages a person as the recipe says, in a folder of its own that goes
// again, and takes the epochs.
func (r *rehearsing) person(ctx context.Context, s *cohort.Study, x cohort.Participant) error {
	dir, remove, err := disk.Temp()
	if err != nil {
		return err
	}
	defer remove()
	if _, _, err := r.app.quietly(ctx, s.Averaging(x, dir)); err != nil {
		return err
	}
	return r.noise.Add(r.app.Session, r.command, x.Name, cohort.AveragesIn(dir, x.Name, r.compared))
}

// choose finds the window, and the site where none is given.
func (r *rehearsing) choose() error {
	var chosen *measure.Window
	for i, w := range r.windows.Declared {
		named := r.of == "" && len(w.Sites) > 0 || slices.Contains(w.Sites, string(r.of))
		if w.Name == r.window || r.window == "" && named {
			chosen = &r.windows.Declared[i]
			break
		}
	}
	switch {
	case chosen != nil:
		r.noise.At, r.label = unit.Latency{Span: chosen.Span}, chosen.Name+", "+unit.Latency{Span: chosen.Span}.Label()
	case r.window == "":
		return console.Usagef("--window is missing: a range such as 150..190ms, or the name of a declared window")
	case r.noise.At.Set(r.window) != nil || !r.noise.At.IsWindow():
		return console.Usagef("--window %s: expected a range such as 150..190ms, or the name of a declared window",
			r.window)
	default:
		r.label = r.noise.At.Label()
	}
	if r.of == "" && chosen != nil && len(chosen.Sites) > 0 {
		return r.of.Set(chosen.Sites[len(chosen.Sites)-1])
	}
	if r.of == "" {
		return console.Usagef("--of is missing: the site that is tested, such as P8")
	}
	return nil
}

// rehearsed is what rehearsals of one design came to.
type rehearsed struct {
	rehearse.Design
	smallest float64              // effect that 80 % find
	none     []rehearse.Outcome   // without an effect, reading by reading
	with     [][]rehearse.Outcome // by effect, then reading
	whole    []int                // with --whole: found by the recipe's test, without an effect and by effect
}

// usualPower is the share of studies that a planned one is to be among
// (common practice, no source).
const usualPower = .8

func (r *rehearsing) all(ctx context.Context) error {
	r.noise.Study.Between = float64(r.between)
	r.noise.Study.Test = inference.Options{Arrangements: r.arrange, Seed: r.app.Seed}
	bar := console.NewBar(r.app.Stderr, r.app.Quiet, len(r.people)*len(r.epochs), "rehearsing")
	defer bar.Clear()
	for _, people := range r.people {
		for _, epochs := range r.epochs {
			one := rehearsed{Design: rehearse.Design{People: people, Epochs: epochs}}
			found, err := r.noise.Study.Rehearse(ctx, one.Design, r.rehearsals, r.app.Seed)
			if err != nil {
				return err
			}
			if one.none, err = found.With(ctx, 0); err != nil {
				return err
			}
			for _, size := range r.effects {
				with, err := found.With(ctx, float64(size))
				if err != nil {
					return err
				}
				one.with = append(one.with, with)
			}
			if one.smallest, err = found.Smallest(ctx, usualPower); err != nil {
				return err
			}
			if r.whole {
				for _, size := range append([]unit.Voltage{0}, r.effects...) {
					n, err := r.noise.Whole.Find(ctx, one.Design, float64(size), r.rehearsals, r.app.Seed, r.test)
					if err != nil {
						return err
					}
					one.whole = append(one.whole, n)
				}
			}
			r.found = append(r.found, one)
			bar.Add(1)
		}
	}
	return nil
}

// title says what is tested.
func (r *rehearsing) title() string {
	return fmt.Sprintf("%s minus %s at %s, %s", r.compared[0], r.compared[1], r.noise.Place, r.label)
}

// made says how.
func (r *rehearsing) made() provenance.Record { return r.app.Provenance(r.command, r.noise.Sources) }
