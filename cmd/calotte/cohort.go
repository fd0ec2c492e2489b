package main

import (
	"time"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/intake"
	"calotte/cmd/internal/option"
)

type cohortFlags struct {
	engine   engine
	sbatch   []string
	detach   bool
	patience time.Duration
}

func (a *app) cohort() *cobra.Command {
	c := &cobra.Command{
		Use:   "cohort",
		Short: "Carry out a whole study from one recipe",
		Long: `Cohort does the whole job of a study that one recipe describes: each participant's
averages, the group's, tests, figures, the interactive page, the methods text, and an
index of all. A second run does only what has changed; what fails is told and does not
stop the others.

  calotte cohort init FOLDER > recipe.yaml     a recipe to begin with
  calotte cohort plan recipe.yaml              what would be done
  calotte cohort run recipe.yaml               do it
  calotte cohort status recipe.yaml            how it stands
  calotte cohort check recipe.yaml             whether its files are as they were`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return console.Usagef("unknown command %q: expected init, plan, run, status, "+
					"check or schema",
					args[0])
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(a.cohortRun(), a.cohortPlan(), a.cohortStatus(), a.cohortCheck(), a.cohortInit(), a.cohortSchema(),
		a.cohortTask())
	return c
}

// oneRecipe demands the one argument.
func oneRecipe(c *cobra.Command, args []string) error {
	if len(args) != 1 {
		return console.Usagef("cohort %s needs one recipe: see calotte cohort %s --help", c.Name(), c.Name())
	}
	return nil
}

// engine is a flag: where the work is done.
type engine string

const (
	onThisMachine engine = "local"
	onSlurm       engine = "slurm"
)

func (a *app) cohortRun() *cobra.Command {
	f := &cohortFlags{engine: onThisMachine, patience: 10 * time.Minute}
	c := &cobra.Command{
		Use:   "run RECIPE",
		Short: "Do what the recipe describes, or what of it has changed",
		Long: `Run does the tasks of a recipe that are not done yet, or whose inputs or settings have
changed. A participant who fails is told at the end (exit 1) and does not stop the
others. An interrupted or killed run goes on where it was. Results go into a folder of their
own; --force lets it hold other files.

With --engine slurm participants are done by arrays of jobs and the group by one that
waits for them, submitted through sbatch; recordings, recipe and results have to lie in a
folder that all machines see. Without --detach it waits for the end, and says why jobs
wait; where the queue holds all of them for a reason that need not pass, such as a limit
of the partition, the wait ends after --patience and the jobs stay there. A job that is
lost is done once more. On a cluster:

  calotte cohort run recipe.yaml --engine slurm --sbatch=--partition=short --sbatch=--time=30`,
		Example: "  calotte cohort run calotte-demo/recipe.yaml",
		Args:    oneRecipe,
		RunE: func(c *cobra.Command, args []string) error {
			if given := intake.Given(c.Flags(), "detach", "sbatch",
				"patience"); f.engine == onThisMachine && given != nil {
				return console.Usagef("--%s is for --engine slurm: add it, or leave that out", given[0])
			}
			if f.patience < 0 {
				return console.Usagef("--patience %v: expected a time, such as 10m", f.patience)
			}
			return a.runCohort(c.Context(), f, args[0])
		},
	}
	flags := c.Flags()
	flags.Var(option.OneOf(&f.engine, "engine", onThisMachine, onSlurm), "engine", "local, or slurm")
	flags.StringArrayVar(&f.sbatch, "sbatch", nil,
		"further `OPTION` of sbatch, such as --partition=short; repeat for more")
	flags.DurationVar(&f.patience, "patience", f.patience,
		"with --engine slurm: the `TIME` that jobs may wait for a reason that need not pass")
	flags.BoolVar(&f.detach, "detach", false, "with --engine slurm: do not wait for the end")
	return c
}
