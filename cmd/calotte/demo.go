package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"calotte/cmd/internal/console"
	"calotte/topo/forward"
)

func (a *app) demo() *cobra.Command {
	return &cobra.Command{
		Use:   "demo [DIR]",
		Short: "Write an invented study and do the whole job on it",
		Long: `Demo invents a study and works on it as you would on your own: pilots at a harbour
school look at signal flags that they have learnt (known) or never seen (novel). All
of its data are synthetic, so that the truth is known: truth.tsv says what was planted.

It writes recordings (a BIDS data set), averages, grand averages, maps and a table into DIR (default
calotte-demo), and prints each command that it runs.`,
		Example: `  calotte demo
  calotte demo /tmp/flags --seed 7`,
		Args: atMost(1, "one folder"),
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
	if entries, err := os.ReadDir(dir); err == nil && len(entries) > 0 && !a.force {
		return fmt.Errorf("%s is not empty: choose another folder or add --force", dir)
	}
	study, err := forward.NewStudy(a.seed)
	if err != nil {
		return err
	}
	w := a.summary(false)
	fmt.Fprintf(w, "An invented study, synthetic throughout: pilots and signal flags, seed %d.\n\n", a.seed)
	if err := a.writeStudy(ctx, study, dir); err != nil {
		return err
	}
	fmt.Fprintf(w, "wrote %d recordings and %s\n", len(study.Participants()), filepath.Join(dir, "truth.tsv"))
	for _, s := range demoSteps(study, dir) {
		fmt.Fprintf(w, "\n$ calotte %s\n", s.typed())
		args := s.args
		if a.force {
			args = append(args, "--force")
		}
		if a.quiet {
			args = append(args, "--quiet")
		}
		if err := run(ctx, args, a.stdin, a.stdout, a.stderr); err != nil {
			return err
		}
	}
	fmt.Fprintf(w, `
Look at %[1]s and compare values.tsv with truth.tsv. Then try:
  calotte contents %[2]s
  calotte map %[3]s --at 150..190ms --field csd -o csd.pdf
  calotte place --head %[4]s --sites 10-10
`, filepath.Join(dir, "maps.png"), recordingPath(dir, "sub-01"),
		filepath.Join(dir, "averages", "pilots_known_average.tsv"), filepath.Join(dir, "pilots_head.json"))
	return nil
}

// writeStudy writes the recordings, a few at a time, and the truth.
func (a *app) writeStudy(ctx context.Context, study *forward.Study, dir string) error {
	people := study.Participants()
	out := a.files(nil)
	truthPath := filepath.Join(dir, "truth.tsv")
	paths := []string{truthPath}
	paths = append(paths, datasetPaths(dir)...)
	for _, p := range people {
		path := recordingPath(dir, p.ID)
		paths = append(paths, path, sidecar(path, "_events.tsv"), sidecar(path, "_channels.tsv"))
	}
	if err := out.Plan(paths...); err != nil {
		return err
	}
	bar := console.NewBar(a.stderr, a.quiet, len(people), "simulating")
	defer bar.Clear()
	recordings := make([]bytes.Buffer, len(people))
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, p := range people {
		group.Go(func() error {
			if err := ctx.Err(); err != nil {
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
	for _, f := range files {
		out.Put(f.path, f.content)
	}
	var truth bytes.Buffer
	if err := study.WriteTruth(&truth); err != nil {
		return err
	}
	out.Put(truthPath, truth.Bytes())
	return out.Write()
}

// A step is one command line of the job; shown is how it is printed, with a
// pattern in the place of many files.
type step struct{ args, shown []string }

// typed is the step as it can be typed; patterns stay open to the shell.
func (s step) typed() string {
	texts := make([]string, len(s.shown))
	for i, arg := range s.shown {
		texts[i] = arg
		if strings.ContainsAny(arg, " '") || !strings.ContainsAny(arg, "*…") {
			texts[i] = shellQuote(arg)
		}
	}
	return strings.Join(texts, " ")
}

func plainStep(args ...string) step { return step{args, args} }

// demoSteps are the command lines of the job, in order.
func demoSteps(study *forward.Study, dir string) []step {
	averages, head := filepath.Join(dir, "averages"), filepath.Join(dir, "pilots_head.json")
	average := func(more ...string) []string {
		return append([]string{"average", "--condition", "known=known", "--condition", "novel=novel",
			"--epoch", "-200..600ms", "--reference", "average", "--reject", "150uV", "-o", averages}, more...)
	}
	var sound, everyone []string
	var repaired []step
	for _, p := range study.Participants() {
		path := recordingPath(dir, p.ID)
		for _, condition := range study.Conditions() {
			everyone = append(everyone, filepath.Join(averages, p.ID+"_"+condition+"_average.tsv"))
		}
		if len(p.Failing) == 0 {
			sound = append(sound, path)
			continue
		}
		repaired = append(repaired, plainStep(average("--repair", strings.Join(p.Failing, ","), "--head", head, path)...))
	}
	each := step{
		args:  average(append([]string{"--each"}, sound...)...),
		shown: average("--each", sound[0], sound[1], fmt.Sprintf("…%d-more", len(sound)-2)),
	}
	combine := func(more ...string) step {
		pattern := filepath.Join(averages, "sub-*_average.tsv")
		more = append(more, "--name", "pilots", "-o", averages)
		return step{
			args:  slices.Concat([]string{"combine"}, everyone, more),
			shown: append([]string{"combine", pattern}, more...),
		}
	}
	steps := []step{plainStep("place", "--circumference", fmt.Sprintf("%gmm", study.Head().Circumference), "-o", head), each}
	group := filepath.Join(averages, "pilots_")
	return append(append(steps, repaired...),
		combine(),
		combine("--difference", "known,novel"),
		plainStep("map", group+"known_average.tsv", group+"novel_average.tsv", group+"known-novel_average.tsv",
			"--at", "95ms,170ms,350ms", "--head", head, "-o", filepath.Join(dir, "maps.png")),
		plainStep("values", group+"known_average.tsv", group+"novel_average.tsv",
			"--at", "95ms,170ms,350ms", "--sites", "O1,O2,P7,P8,Pz", "--head", head, "-o", filepath.Join(dir, "values.tsv")),
	)
}
