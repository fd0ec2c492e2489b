package main

import (
	"cmp"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/cohort"
	"calotte/cmd/internal/console"
)

// cohortTask is what a job of an array carries out: one person's tasks.
func (a *app) cohortTask() *cobra.Command {
	return &cobra.Command{
		Use: "task RECIPE", Hidden: true, Args: oneRecipe,
		RunE: func(c *cobra.Command, args []string) error {
			n, err := cohort.ArrayTask()
			if err != nil {
				return err
			}
			s, err := a.openStudy(args[0])
			if err != nil {
				return err
			}
			if n < 0 || n >= len(s.People) || s.People[n].Err != nil {
				return fmt.Errorf("there is no participant %d: the recordings have changed since the jobs were submitted", n)
			}
			return s.DoPerson(c.Context(), n, &cohort.Runner{Ledger: s.Ledger, Do: a.quietly, Width: 1})
		},
	}
}

// submitStudy hands a study to a cluster.
func (a *app) submitStudy(ctx context.Context, f *cohortFlags, s *cohort.Study) error {
	numbers, err := s.Left(ctx)
	if err != nil {
		return err
	}
	program, err := os.Executable()
	if err != nil {
		return err
	}
	path, err := filepath.Abs(s.Path)
	if err != nil {
		return err
	}
	logs, err := filepath.Abs(filepath.Join(s.Dir, "status", "jobs"))
	if err != nil {
		return err
	}
	seed := fmt.Sprintf("--seed=%d", a.seed)
	slurm := &cohort.Slurm{
		Options: f.sbatch, Logs: logs,
		Person: []string{program, "cohort", "task", path, seed}, Group: []string{program, "cohort", "run", path, seed, "--quiet"},
	}
	begun := time.Now()
	people, group, err := slurm.Submit(ctx, numbers)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.summary(false), "submitted: %s as job %s, the group as job %s\n", console.Plural(len(numbers), "person", "people"), cmp.Or(people, "none"), group)
	if f.detach {
		fmt.Fprintf(a.summary(false), "next: calotte cohort status %s\n", s.Path)
		return nil
	}
	for try := 1; ; try++ {
		if err := a.follow(ctx, slurm, s, people, group); err != nil {
			return err
		}
		if s.Told() || try == 2 {
			break
		}
		// The group's job was lost: once more.
		if people, group, err = slurm.Submit(ctx, nil); err != nil {
			return err
		}
	}
	if !s.Told() {
		return fmt.Errorf("the jobs have ended twice before the work was done: look at %s", logs)
	}
	return a.summarise(s, "", time.Since(begun))
}

// follow waits for the jobs and shows how far they are.
func (a *app) follow(ctx context.Context, slurm *cohort.Slurm, s *cohort.Study, jobs ...string) error {
	rows := s.Standing()
	bar := console.NewBar(a.stderr, a.quiet, len(rows), s.Name)
	defer bar.Clear()
	shown := 0
	look := func() {
		ended := 0
		for _, r := range s.Standing() {
			if r.State == cohort.Done || r.State == cohort.Failed {
				ended++
			}
		}
		bar.Add(max(0, ended-shown))
		shown = max(shown, ended)
	}
	err := slurm.Follow(ctx, time.Second, look, jobs...)
	if ctx.Err() != nil {
		fmt.Fprintf(a.notes(), "the jobs go on: calotte cohort status %s, or scancel %s\n", s.Path, strings.Join(jobs, " "))
	}
	return err
}
