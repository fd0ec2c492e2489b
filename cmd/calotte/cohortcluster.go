package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/cohort"
	"calotte/cmd/internal/console"
)

// cohortTask is what a job of a cluster carries out: one person's tasks, or the
// group's.
func (a *app) cohortTask() *cobra.Command {
	var first int
	var group bool
	c := &cobra.Command{
		Use: "task RECIPE", Hidden: true, Args: oneRecipe,
		RunE: func(c *cobra.Command, args []string) error {
			folders := cohort.RecipeFolders(args[0])
			s, err := a.readStudy(args[0])
			if err == nil {
				defer s.Close()
				folders, err = s.Ledger.Private, a.doJob(c.Context(), s, first, group)
			}
			if err == nil || errors.Is(err, context.Canceled) {
				return err
			}
			return errors.New(folders.Strip(err.Error())) // what a job prints stays beside the records
		},
	}
	c.Flags().IntVar(&first, "first", 0, "the participant that is the array's first job")
	c.Flags().BoolVar(&group, "group", false, "what is left, and the group")
	return c
}

func (a *app) doJob(ctx context.Context, s *cohort.Study, first int, group bool) error {
	if group {
		if err := s.Load(); err != nil {
			return err
		}
		return s.Do(ctx, a.runner(s, runtime.GOMAXPROCS(0)))
	}
	n, err := cohort.ArrayTask()
	if err != nil {
		return err
	}
	return s.DoPerson(ctx, first+n, a.runner(s, 1))
}

// submitStudy hands a study to a cluster.
func (a *app) submitStudy(ctx context.Context, f *cohortFlags, s *cohort.Study) error {
	numbers, err := s.Left(ctx)
	if err != nil {
		return err
	}
	slurm, err := a.slurm(f, s)
	if err != nil {
		return err
	}
	begun := time.Now()
	jobs, err := slurm.Submit(ctx, numbers)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.Summary(false), "submitted: %s as job %s, the group as job %s\n",
		console.Plural(len(numbers), "person", "people"), cmp.Or(strings.Join(jobs.People, ", "), "none"),
		jobs.Group)
	if f.detach {
		fmt.Fprintf(a.Summary(false), "next: calotte cohort status %s\n", s.Path)
		return nil
	}
	for try := 1; ; try++ {
		if err := a.follow(ctx, f, slurm, s, jobs.All()); err != nil {
			return err
		}
		if err := s.Reload(); err != nil {
			return err
		}
		if s.Told() || try == 2 {
			break
		}
		// The group's job was lost: once more.
		if jobs, err = slurm.Submit(ctx, nil); err != nil {
			return err
		}
	}
	if !s.Told() {
		return fmt.Errorf("the jobs have ended twice before the work was done: look at %s, and at "+
			"sacct --jobs=%s",
			slurm.Logs, jobs.Group)
	}
	return a.summarise(s, "", time.Since(begun))
}

// slurm is the cluster that does the jobs of a study.
func (a *app) slurm(f *cohortFlags, s *cohort.Study) (*cohort.Slurm, error) {
	program, err := os.Executable()
	if err != nil {
		return nil, err
	}
	path, err := filepath.Abs(s.Path)
	if err != nil {
		return nil, err
	}
	logs, err := s.Ledger.NewLogs()
	if err != nil {
		return nil, err
	}
	job := []string{program, "cohort", "task", path, fmt.Sprintf("--seed=%d", a.Seed)}
	return &cohort.Slurm{Options: f.sbatch, Logs: logs, Person: job, Group: append(slices.Clone(job), "--group")},
		nil
}

// follow waits for the jobs and shows how far they are.
func (a *app) follow(ctx context.Context, f *cohortFlags, slurm *cohort.Slurm, s *cohort.Study, jobs []string) error {
	bar := console.NewBar(a.Stderr, a.Quiet, len(s.Standing()), s.Name)
	defer bar.Clear()
	shown := 0
	look := func() {
		if s.Reload() != nil {
			return // it is told in the end
		}
		ended := 0
		for _, r := range s.Standing() {
			if r.Ended() {
				ended++
			}
		}
		bar.Add(max(0, ended-shown))
		shown = max(shown, ended)
	}
	waits := func(reasons []string) {
		if reasons != nil {
			bar.Clear()
			fmt.Fprintf(a.Notes(), "jobs wait in the queue: %s\n", strings.Join(reasons, ", "))
		}
	}
	err := slurm.Follow(ctx, cohort.Watch{
		Every: time.Second, Longest: 10 * time.Second, Patience: f.patience, Look: look, Waits: waits,
	}, jobs)
	if ctx.Err() != nil {
		fmt.Fprintf(a.Notes(), "the jobs go on: calotte cohort status %s, or scancel %s\n", s.Path,
			strings.Join(jobs, " "))
	}
	return err
}
