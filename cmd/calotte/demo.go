package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"path/filepath"
	"runtime"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"calotte/cmd/internal/cohort"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/session"
	"calotte/topo/forward/study"
)

func (a *app) demo() *cobra.Command {
	return &cobra.Command{
		Use:   "demo [DIR]",
		Short: "Write an invented study and do the whole job on it",
		Long: `Demo invents a study and works on it as you would on your own: pilots at a harbour
school look at signal flags that they have learnt (known) or never seen (novel). All
of its data are synthetic, so that the truth is known: truth.tsv says what was planted,
in three pilots strong blinks, looks sideways, muscle and mains as well.

It writes recordings (a BIDS data set) and a recipe into DIR (default calotte-demo),
takes independent components of these three, and runs the recipe: averages, grand
averages, tests, figures, an interactive page, and an index of all. It prints the command lines that the recipe stands for.`,
		Example: `  calotte demo
  calotte demo /tmp/flags --seed 7`,
		Args: session.AtMost(1, "one folder"),
		RunE: func(c *cobra.Command, args []string) error {
			dir := "calotte-demo"
			if len(args) == 1 {
				dir = args[0]
			}
			return a.runDemo(c.Context(), dir)
		},
	}
}

func (a *app) runDemo(ctx context.Context, dir string) error {
	if entries, err := disk.ReadDir(dir); err == nil && len(entries) > 0 && !a.Force {
		return fmt.Errorf("%s is not empty: choose another folder or add --force", dir)
	}
	s, err := study.New(a.Seed)
	if err != nil {
		return err
	}
	w := a.Summary(false)
	fmt.Fprintf(w, "An invented study, synthetic throughout: pilots and signal flags, seed %d.\n\n", a.Seed)
	if err := a.writeStudy(ctx, s, dir); err != nil {
		return err
	}
	recipe := filepath.Join(dir, demoRecipe)
	fmt.Fprintf(w, "wrote %d recordings, %s and %s\n", len(s.Participants()), filepath.Join(dir, "truth.tsv"),
		recipe)
	if err := a.demoStep(ctx, "place", "--circumference", fmt.Sprintf("%gmm", s.Head().Circumference), "-o",
		filepath.Join(dir, "pilots_head.json")); err != nil {
		return err
	}
	for _, p := range s.Participants() {
		if len(p.Brings) == 0 {
			continue
		}
		// few dimensions, so that the demo is quick
		if err := a.demoStep(ctx, "unmix", filepath.Join(dir, "recordings"), "--participant",
			strings.TrimPrefix(p.ID, "sub-"), "--dimensions", "12", "--head",
			filepath.Join(dir, "pilots_head.json"), "-o", filepath.Join(dir, unmixedFolder)); err != nil {
			return err
		}
	}
	if err := tellPlan(w, recipe); err != nil {
		return err
	}
	if err := a.demoStep(ctx, "cohort", "run", recipe); err != nil {
		return err
	}
	group := filepath.Join(dir, "results", cohort.GroupFolder, "pilots_known_average.tsv")
	fmt.Fprintf(w, `
Open %[1]s in a browser, and compare %[2]s with %[5]s. Then try:
  calotte contents %[3]s
  calotte map %[4]s --at 150..190ms --field csd -o csd.pdf
  calotte explore %[4]s --serve
`, filepath.Join(dir, "results", cohort.IndexPage), filepath.Join(dir, "results", "tables", "values.tsv"),
		recordingPath(dir, "sub-01"), group, filepath.Join(dir, "truth.tsv"))
	return nil
}

// demoStep prints a command line and carries it out.
func (a *app) demoStep(ctx context.Context, args ...string) error {
	fmt.Fprintf(a.Summary(false), "\n$ %s\n", console.ShellLine(append([]string{"calotte"}, args...)))
	for name, on := range map[string]bool{"--force": a.Force, "--quiet": a.Quiet} {
		if on {
			args = append(args, name)
		}
	}
	return run(ctx, append(args, fmt.Sprintf("--seed=%d", a.Seed)), a.Stdin, a.Stdout, a.Stderr)
}

// tellPlan prints what a recipe stands for: the command lines of the first
// person and of the group.
func tellPlan(w io.Writer, path string) error {
	r, err := cohort.Read(path, studyVerbs())
	if err != nil {
		return err
	}
	p, err := cohort.NewPlan(r)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "\nThe recipe stands for these command lines (long lists of averages are cut; calotte "+
		"cohort plan):\n")
	line := func(t cohort.Task) {
		fmt.Fprintf(w, "  $ calotte %s\n", console.ShellLine(shortened(t.Args)))
	}
	line(p.OfPerson(p.People[0])[0])
	fmt.Fprintf(w, "  …and so for %d more\n", len(p.People)-1)
	for _, stage := range p.OfGroup(p.Names()) {
		for _, t := range stage {
			line(t)
		}
	}
	return nil
}

// writeStudy writes the recordings, a few at a time, and the truth.
func (a *app) writeStudy(ctx context.Context, s *study.Study, dir string) error {
	people := s.Participants()
	out := a.Files(nil)
	truthPath := filepath.Join(dir, "truth.tsv")
	written := []demoFile{{filepath.Join(dir, demoRecipe), []byte(recipeOf(people))},
		{filepath.Join(dir, "windows.tsv"), []byte(demoWindows)},
		{filepath.Join(dir, "tests.yaml"), []byte(demoTests)}}
	paths := []string{truthPath}
	for _, f := range written {
		paths = append(paths, f.path)
	}
	paths = append(paths, datasetPaths(dir)...)
	for _, p := range people {
		path := recordingPath(dir, p.ID)
		paths = append(paths, path, sidecar(path, "_events.tsv"), sidecar(path, "_channels.tsv"))
	}
	if err := out.Plan(paths...); err != nil {
		return err
	}
	bar := console.NewBar(a.Stderr, a.Quiet, len(people), "simulating")
	defer bar.Clear()
	recordings := make([]bytes.Buffer, len(people))
	group, working := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, p := range people {
		group.Go(func() error {
			if err := working.Err(); err != nil {
				return err
			}
			defer bar.Add(1)
			return p.Write(&recordings[i])
		})
	}
	if err := group.Wait(); err != nil {
		return err
	}
	files := datasetFiles(dir, people)
	for i, p := range people {
		path := recordingPath(dir, p.ID)
		beside, err := sidecarFiles(path, recordings[i].Bytes(), p.Failing)
		if err != nil {
			return err
		}
		files = append(append(files, demoFile{path, recordings[i].Bytes()}), beside...)
	}
	for _, f := range append(files, written...) {
		out.Put(f.path, f.content)
	}
	var truth bytes.Buffer
	if err := s.WriteTruth(&truth); err != nil {
		return err
	}
	out.Put(truthPath, truth.Bytes())
	return out.Write(ctx)
}

const (
	demoRecipe    = "recipe.yaml"
	unmixedFolder = "unmixed" // independent components of those who bring more than blinks
)

// recipeOf is the whole job as a recipe.
func recipeOf(people []*study.Participant) string {
	var b strings.Builder
	b.WriteString(`# The invented study of the harbour school, whole: calotte cohort run recipe.yaml
# All of its data are synthetic.

name: pilots
recordings: recordings
results: results
head: pilots_head.json
windows: windows.tsv    # declared before looking
declared: tests.yaml    # likewise: the averages carry its SHA-256

average:
  condition: [known=known, novel=novel]
  epoch: -200..600ms
  reference: average
  reject: 150uV

people:
`)
	for _, p := range people {
		if len(p.Failing) > 0 {
			fmt.Fprintf(&b, "  %s: {repair: [%s]}    # failing electrodes\n", p.ID,
				strings.Join(p.Failing, ", "))
		}
		if len(p.Brings) > 0 {
			fmt.Fprintf(&b, "  %[1]s: {unmix: %[2]s/%[1]s_unmix.tsv}    # %[3]s\n", p.ID, unmixedFolder,
				strings.Join(p.Brings, ", "))
		}
	}
	b.WriteString(`
differences: ['known,novel']

components:
  name: components.tsv
  inputs: people

values:
  name: values.tsv
  inputs: [known, novel]
  at: [95ms, 170ms, 350ms]
  sites: [O1, O2, P7, P8, Pz]

asymmetry:
  - {name: asymmetry.tsv, inputs: known, at: 150..190ms, of: P7}
  - {name: sides.png, inputs: known, at: 150..190ms, of: [P7, PO7, TP7, O1]}

compare:
  name: known-novel.tsv
  inputs: [known, novel]
  during: 100..250ms
  correct: enhanced
  arrangements: 1000

# for calotte alternatives: how far the result hangs on choices, the first of each ours
alternatives:
  of: [P8, PO8]
  window: [150..190ms, 160..180ms, 150..200ms]
  average:
    reference: [average, recorded]
    baseline: [-200..0ms, -100..0ms]
    reject: [150uV, 100uV]

figures:
  - {figure: map, name: maps.png, at: ['95ms,170ms,350ms']}
  - {figure: traces, name: traces.png, sites: [P7, P8]}

explore:
  name: study.html
  link: ['the negativity at 170 ms=#at=170ms&pair=P7,P8']
`)
	return b.String()
}

const demoTests = `# What is tested, written before the averages are made.
compare: {inputs: [known, novel], during: 100..250ms, correct: enhanced}
`

const demoWindows = "name\twindow\tpolarity\tsites\np95\t80..110ms\tpositive\tO1,O2\n" +
	"n170\t150..190ms\tnegative\tP7,P8\np350\t300..400ms\tpositive\tPz\n"
