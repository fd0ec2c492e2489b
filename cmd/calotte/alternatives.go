package main

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"

	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/mat"

	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/cohort"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/figure"
	"calotte/cmd/internal/option"
	"calotte/layout"
	"calotte/topo/contrast"
	"calotte/topo/erp"
	"calotte/topo/erp/average"
	"calotte/topo/erp/store"
	"calotte/topo/inference"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

type alternativesFlags struct {
	arrangements int
	figure       figure.Flags
}

func (a *app) alternatives() *cobra.Command {
	f := &alternativesFlags{arrangements: 5000, figure: figure.NewFlags()}
	c := &cobra.Command{
		Use:   "alternatives RECIPE",
		Short: "Ask how far a result hangs on choices that could have been others",
		Long: `Alternatives takes the same difference of two conditions in all ways that a recipe's section
of defensible choices allows (Steegen et al. 2016):

  alternatives:
    of: [P8, PO8]
    window: [150..190ms, 160..180ms]
    average:
      reference: [average, recorded]
      highpass: [none, 0.1Hz]

Every person is averaged anew with each combination of the flags under average:, whose
values are those of calotte average, or none to leave a flag away; what the recipe says of
a person alone counts more. Of each average the mean in each window at each site is taken,
first condition minus second (conditions: [known, novel], else the first two of the recipe).

The table has a row a way with its interval by t and its p by sign flips, the smallest
difference first. Jointly they are tested by flipping a person's sign in all ways at once:
the median difference, and the share of ways that reach 0.05 by themselves on one side
(Simonsohn, Simmons & Nelson 2020). Of 2,000 sets of noise these erred in 5.1 to 5.5 % and
4.1 to 5.0 %. By how much each choice moves the difference is told in µV.

That all ways agree does not make any of them right; choose them before you look.`,
		Example: "  calotte alternatives calotte-demo/recipe.yaml -o alternatives.png",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return console.Usagef("alternatives needs one recipe: see calotte alternatives --help")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error { return a.runAlternatives(c, f, args[0]) },
	}
	flags := c.Flags()
	flags.IntVar(&f.arrangements, "arrangements", f.arrangements, "`N` sign flips to draw, where there are more")
	f.figure.Register(c)
	flags.Lookup("output").Usage = "`FILE`.tsv for the table, with a JSON beside it; .png, .svg, .pdf or .tiff for " +
		"the figure"
	return c
}

// mostAlternatives is more than anybody can look at.
var mostAlternatives = bound{"ways", 20_000, 200, "leave out choices"}

func (a *app) runAlternatives(c *cobra.Command, f *alternativesFlags, path string) error {
	if err := f.figure.CheckDrawn(c, "alternatives.png", 80); err != nil {
		return err
	}
	if f.arrangements < 99 {
		return console.Usagef("--arrangements %d: expected 99 or more", f.arrangements)
	}
	if err := a.bounded(mostArrangements, f.arrangements); err != nil {
		return err
	}
	s, err := a.readStudy(path)
	if err != nil {
		return err
	}
	run := &choosing{alternativesFlags: f, app: a, command: c, study: s}
	if err := run.plan(); err != nil {
		return err
	}
	out := a.Files([]string{path})
	table := averages.SavedTable{Path: f.figure.TablePath(), Columns: run.columns()}
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
		err = table.Deliver(c.Context(), a.Stdout, out, averages.TableRecord{What: run.title(), Words: run.words(),
			Provenance: run.made(), Synthetic: run.synthetic})
	}
	if err != nil {
		return err
	}
	w := a.Summary(f.figure.Output == "")
	for _, line := range run.words() {
		console.Say(w, "%s\n", line)
	}
	return nil
}

// choosing is one run of the verb.
type choosing struct {
	*alternativesFlags
	app     *app
	command *cobra.Command
	study   *cohort.Study

	asked      *cohort.Alternatives
	conditions []string
	windows    []unit.Latency
	sites      []layout.Name
	choices    []contrast.Choice // those of averages, then window and site

	taking    sync.Mutex // what follows
	synthetic bool
	sources   map[string]provenance.Source // recordings and what lies beside them, by name and hash
	left      map[string]string            // people who are not in all ways, and why
	found     *contrast.AlternativesFound
}

// plan finds out what is to be chosen.
func (r *choosing) plan() error {
	if r.asked = r.study.Alternatives(); r.asked == nil {
		return fmt.Errorf("%s has no section alternatives: see calotte alternatives --help", r.study.Path)
	}
	recipe, err := r.study.Source()
	if err != nil {
		return err
	}
	r.sources, r.left = map[string]provenance.Source{recipe.Name + recipe.SHA256: recipe}, map[string]string{}
	if r.conditions = r.asked.Conditions; r.conditions == nil {
		r.conditions = r.study.Conditions()[:min(2, len(r.study.Conditions()))]
	}
	for _, name := range r.conditions {
		if !slices.Contains(r.study.Conditions(), name) {
			return fmt.Errorf("%s: alternatives: there is no condition %s: expected two of %s", r.study.Path, name,
				strings.Join(r.study.Conditions(), ", "))
		}
	}
	if len(r.conditions) != 2 || r.conditions[0] == r.conditions[1] {
		return fmt.Errorf("%s: alternatives: expected two conditions, not %s", r.study.Path,
			strings.Join(r.conditions, ", "))
	}
	for _, text := range r.asked.Windows {
		var at unit.Latency
		if at.Set(text) != nil || !at.IsWindow() {
			return fmt.Errorf("%s: alternatives: window %s: expected a range such as 150..190ms", r.study.Path, text)
		}
		r.windows = append(r.windows, at)
	}
	for _, text := range r.asked.Of {
		var site option.Site
		if err := site.Set(text); err != nil {
			return fmt.Errorf("%s: alternatives: of: %w", r.study.Path, err)
		}
		r.sites = append(r.sites, layout.Name(site))
	}
	for _, a := range r.asked.Average {
		r.choices = append(r.choices, contrast.Choice{Name: a.Flag, Options: a.Values})
	}
	r.choices = append(r.choices, contrast.Choice{Name: "window", Options: r.asked.Windows},
		contrast.Choice{Name: "site", Options: r.asked.Of})
	for _, c := range r.choices {
		if len(slices.Compact(slices.Sorted(slices.Values(c.Options)))) < len(c.Options) {
			return fmt.Errorf("%s: alternatives: %s names a value twice", r.study.Path, c.Name)
		}
	}
	if n := contrast.Ways(r.choices); n < 2 {
		return fmt.Errorf("%s: alternatives allow one way: expected a choice between two values or more", r.study.Path)
	}
	return r.app.bounded(mostAlternatives, contrast.Ways(r.choices))
}

// all averages everybody in every way, and tests the differences.
func (r *choosing) all(ctx context.Context) error {
	ofAverages := r.choices[:len(r.asked.Average)]
	each := len(r.windows) * len(r.sites)
	combinations := contrast.Ways(ofAverages)
	scores := make([][]float64, len(r.study.People)) // person × way
	bar := console.NewBar(r.app.Stderr, r.app.Quiet, combinations*len(r.study.People), "averaging")
	defer bar.Clear()
	group, working := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, x := range r.study.People {
		scores[i] = make([]float64, combinations*each)
		for k := range combinations {
			group.Go(func() error {
				defer bar.Add(1)
				return r.person(working, x, contrast.Options(ofAverages, k), scores[i][k*each:(k+1)*each])
			})
		}
	}
	if err := group.Wait(); err != nil {
		return err
	}
	var rows []float64
	n := 0
	for i, x := range r.study.People {
		if r.left[x.Name] == "" {
			rows, n = append(rows, scores[i]...), n+1
		}
	}
	if n < 2 {
		return fmt.Errorf("%s: %s in all ways: expected two or more", r.study.Path, console.Plural(n, "person is",
			"people are"))
	}
	var err error
	r.found, err = contrast.Alternatives{Choices: r.choices, Scores: mat.NewDense(n, combinations*each, rows),
		Test: inference.Options{Arrangements: r.arrangements, Seed: r.app.Seed}}.Run(ctx)
	return err
}

// person averages one person in one way, in a folder of its own that goes again,
// and takes the difference at every window and site.
func (r *choosing) person(ctx context.Context, x cohort.Participant, options []int, scores []float64) error {
	if x.Err != nil {
		r.leaveOut(x.Name, x.Err)
		return nil
	}
	dir, remove, err := disk.Temp()
	if err != nil {
		return err
	}
	defer remove()
	values := make([]string, len(options))
	for k, o := range options {
		values[k] = r.choices[k].Options[o]
	}
	_, _, err = r.app.quietly(ctx, r.study.AveragingAs(x, dir, values))
	if _, byRule := errors.AsType[*erp.RuleError](err); byRule {
		r.leaveOut(x.Name, err)
		return nil
	}
	if err != nil {
		return fmt.Errorf("%s, %s: %w", x.Name, strings.Join(values, ", "), err)
	}
	both, _, err := r.app.Shelf.LoadAll(cohort.AveragesIn(dir, x.Name, r.conditions), average.Clock{}, store.Means)
	if err != nil {
		return err
	}
	r.note(both)
	k := 0
	for _, at := range r.windows {
		for _, site := range r.sites {
			for sign, avg := range map[float64]*average.Average{1: both[0], -1: both[1]} {
				values, err := avg.At(at)
				if err != nil {
					return fmt.Errorf("%s: %w", x.Name, err)
				}
				row, err := layout.Row(avg.Sites, site)
				if err != nil {
					return fmt.Errorf("%s: %w", x.Name, err)
				}
				scores[k] += sign * values[row]
			}
			k++
		}
	}
	return nil
}

func (r *choosing) leaveOut(name string, err error) {
	r.taking.Lock()
	defer r.taking.Unlock()
	r.left[name] = err.Error()
}

// note keeps what averages were made of.
func (r *choosing) note(both []*average.Average) {
	r.taking.Lock()
	defer r.taking.Unlock()
	for _, avg := range both {
		r.synthetic = r.synthetic || avg.Info.Synthetic
		for _, s := range avg.Info.Provenance.Inputs {
			r.sources[s.Name+s.SHA256] = s
		}
	}
}
