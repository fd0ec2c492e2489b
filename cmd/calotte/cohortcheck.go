package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
)

func (a *app) cohortCheck() *cobra.Command {
	reread := false
	c := &cobra.Command{
		Use:   "check RECIPE",
		Short: "Say whether recordings and results are as they were",
		Long: `Check compares the recordings, and what else the tasks of a study have read, and the
results with what was recorded when each task was done and what tells of all was written.
It prints a row for each file that is changed, missing, added since, or unreadable, and ends
with exit 1 where there is one.

A file whose size, times and number on the disk are as before is not read, as in a run.
With --read-data every file is: so are found a disk that loses bits and a change that hid
itself, and the next run takes them for what they are.`,
		Example: `  calotte cohort check calotte-demo/recipe.yaml
  calotte cohort check --read-data calotte-demo/recipe.yaml`,
		Args: oneRecipe,
		RunE: func(c *cobra.Command, args []string) error { return a.checkStudy(c.Context(), args[0], reread) },
	}
	c.Flags().BoolVar(&reread, "read-data", false, "read every file, whatever is known of it")
	return c
}

func (a *app) checkStudy(ctx context.Context, path string, reread bool) error {
	s, err := a.openStudy(path)
	if err != nil {
		return err
	}
	defer s.Close()
	bar := console.NewBar(a.Stderr, a.Quiet, len(s.Tasks())+1, "checking")
	files, found, err := s.Check(ctx, reread, func() { bar.Add(1) })
	bar.Clear()
	if err != nil {
		return err
	}
	var rows [][]string
	for _, d := range found {
		rows = append(rows, []string{d.File, d.Task, d.State})
	}
	if err := console.Table(a.Stdout, []string{"file", "task", "state"}, rows); err != nil {
		return err
	}
	fmt.Fprintf(a.Notes(), "%s of %s checked\n", console.Plural(files, "file", "files"), s.Name)
	if len(found) > 0 {
		return fmt.Errorf("%s as recorded: restore what should not have changed; calotte cohort run %s "+
			"does again "+
			"what the rest bears on", console.Plural(len(found), "file is not", "files are not"), s.Path)
	}
	return nil
}
