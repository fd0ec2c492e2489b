package main

import (
	"errors"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
)

type cohortFlags struct {
	engine engine
	sbatch []string
	detach bool
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
  calotte cohort status recipe.yaml            how it stands`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return console.Usagef("unknown command %q: expected init, plan, run, status or schema", args[0])
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(a.cohortRun(), a.cohortPlan(), a.cohortStatus(), a.cohortInit(), a.cohortSchema(), a.cohortTask())
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

func (e *engine) Set(text string) error {
	switch k := engine(text); k {
	case onThisMachine, onSlurm:
		*e = k
		return nil
	}
	return errors.New("expected local or slurm")
}

func (e engine) String() string { return string(e) }
func (engine) Type() string     { return "engine" }

func (a *app) cohortRun() *cobra.Command {
	f := &cohortFlags{engine: onThisMachine}
	c := &cobra.Command{
		Use:   "run RECIPE",
		Short: "Do what the recipe describes, or what of it has changed",
		Long: `Run does the tasks of a recipe that are not done yet, or whose inputs or settings have
changed. A participant who fails is told at the end (exit 1) and does not stop the
others. An interrupted or killed run goes on where it was. Results go into a folder of their
own; --force lets it hold other files.

With --engine slurm participants are done by an array of jobs and the group by one that
waits for them, submitted through sbatch; recordings, recipe and results have to lie in a
folder that all machines see. Without --detach it waits for the end. A job that is lost is
done once more. On a cluster:

  calotte cohort run recipe.yaml --engine slurm --sbatch=--partition=short --sbatch=--time=30`,
		Example: "  calotte cohort run calotte-demo/recipe.yaml",
		Args:    oneRecipe,
		RunE:    func(c *cobra.Command, args []string) error { return a.runCohort(c.Context(), f, args[0]) },
	}
	flags := c.Flags()
	flags.Var(&f.engine, "engine", "local, or slurm")
	flags.StringArrayVar(&f.sbatch, "sbatch", nil, "further `OPTION` of sbatch, such as --partition=short; repeat for more")
	flags.BoolVar(&f.detach, "detach", false, "with --engine slurm: do not wait for the end")
	return c
}
