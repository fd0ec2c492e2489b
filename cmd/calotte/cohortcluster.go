package main

import (
	"cmp"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
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
			p, ledger, err := a.openCohort(args[0])
			if err != nil {
				return err
			}
			if n < 0 || n >= len(p.people) || p.people[n].err != nil {
				return fmt.Errorf("there is no participant %d: the recordings have changed since the jobs were submitted", n)
			}
			closed, err := ledger.Open(false)
			if err != nil {
				return err
			}
			defer closed()
			runner := &cohort.Runner{Ledger: ledger, Do: a.quietly, Width: 1}
			return runner.Chains(c.Context(), [][]cohort.Task{p.ofPerson(p.people[n])})
		},
	}
}

// submitCohort hands a study to a cluster.
func (a *app) submitCohort(ctx context.Context, f *cohortFlags, p *plan, ledger *cohort.Ledger) error {
	closed, err := ledger.Open(false)
	if err != nil {
		return err
	}
	closed() // the jobs take it from here
	program, err := os.Executable()
	if err != nil {
		return err
	}
	path, err := filepath.Abs(p.path)
	if err != nil {
		return err
	}
	logs, err := filepath.Abs(filepath.Join(p.dir, "status", "jobs"))
	if err != nil {
		return err
	}
	seed := fmt.Sprintf("--seed=%d", a.seed)
	slurm := &cohort.Slurm{
		Options: f.sbatch, Logs: logs,
		Person: []string{program, "cohort", "task", path, seed}, Group: []string{program, "cohort", "run", path, seed, "--quiet"},
	}
	var numbers []int
	for i, x := range p.people {
		if x.err != nil {
			continue
		}
		settled := true
		for _, t := range p.ofPerson(x) {
			ok, err := ledger.Settled(t)
			settled = settled && ok && err == nil
		}
		if !settled {
			numbers = append(numbers, i)
		}
	}
	begun := time.Now()
	people, group, err := slurm.Submit(ctx, numbers)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.summary(false), "submitted: %s as job %s, the group as job %s\n", console.Plural(len(numbers), "person", "people"), cmp.Or(people, "none"), group)
	if f.detach {
		fmt.Fprintf(a.summary(false), "next: calotte cohort status %s\n", p.path)
		return nil
	}
	for try := 1; ; try++ {
		if err := a.follow(ctx, slurm, p, ledger, people, group); err != nil {
			return err
		}
		if p.told(ledger) || try == 2 {
			break
		}
		// The group's job was lost: once more.
		if people, group, err = slurm.Submit(ctx, nil); err != nil {
			return err
		}
	}
	if !p.told(ledger) {
		return fmt.Errorf("the jobs have ended twice before the work was done: look at %s", logs)
	}
	return a.summarise(p, ledger, len(numbers), time.Since(begun))
}

// follow waits for the jobs and shows how far they are.
func (a *app) follow(ctx context.Context, slurm *cohort.Slurm, p *plan, ledger *cohort.Ledger, jobs ...string) error {
	rows := p.standing(ledger)
	bar := console.NewBar(a.stderr, a.quiet, len(rows), p.name)
	defer bar.Clear()
	shown := 0
	look := func() {
		ended := 0
		for _, r := range p.standing(ledger) {
			if r.State != "open" {
				ended++
			}
		}
		bar.Add(max(0, ended-shown))
		shown = max(shown, ended)
	}
	err := slurm.Follow(ctx, time.Second, look, jobs...)
	if ctx.Err() != nil {
		fmt.Fprintf(a.notes(), "the jobs go on: calotte cohort status %s, or scancel %s\n", p.path, strings.Join(jobs, " "))
	}
	return err
}

// told reports whether every task has ended, one way or the other, and the index is written.
func (p *plan) told(ledger *cohort.Ledger) bool {
	_, err := os.Stat(filepath.Join(p.dir, indexPage))
	return err == nil && !slices.ContainsFunc(p.allTasks(ledger), func(t cohort.Task) bool {
		settled, err := ledger.Settled(t)
		r, known := ledger.Read(t.ID)
		return (err != nil || !settled) && !(known && r.State == cohort.Failed)
	})
}
