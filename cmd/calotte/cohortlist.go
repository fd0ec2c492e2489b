package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/cohort"
	"calotte/cmd/internal/console"
)

func (a *app) cohortPlan() *cobra.Command {
	return &cobra.Command{
		Use:   "plan RECIPE",
		Short: "Print what would be done",
		Long: "Plan reads the recipe, checks every key of it, finds the participants, and prints the command\n" +
			"lines that a run would carry out. It changes nothing.",
		Example: "  calotte cohort plan calotte-demo/recipe.yaml",
		Args:    oneRecipe,
		RunE: func(c *cobra.Command, args []string) error {
			s, err := a.openStudy(args[0])
			if err != nil {
				return err
			}
			defer s.Close()
			return a.printPlan(s)
		},
	}
}

func (a *app) printPlan(s *cohort.Study) error {
	var b strings.Builder
	todo, all := 0, 0
	stale := false // a task before has to be done, so those that read its files have to, too
	print := func(t cohort.Task, known bool) error {
		settled := false
		if known {
			var err error
			if settled, err = s.Ledger.Settled(t); err != nil {
				settled = false // a file is missing, which the run will tell
			}
		}
		all++
		if settled {
			return nil
		}
		todo++
		stale = true
		fmt.Fprintf(&b, "$ %s\n", console.ShellLine(append([]string{"calotte"}, shortened(t.Args)...)))
		return nil
	}
	var people []string
	for _, x := range s.People {
		if x.Err != nil {
			console.Say(&b, "# %s is left out: %v\n", x.Name, x.Err)
			continue
		}
		people = append(people, x.Name)
		for _, t := range s.OfPerson(x) {
			if err := print(t, true); err != nil {
				return err
			}
		}
	}
	for _, stage := range s.OfGroup(people) {
		before := stale
		for _, t := range stage {
			if err := print(t, !before); err != nil {
				return err
			}
		}
	}
	if _, err := io.WriteString(a.Stdout, b.String()); err != nil {
		return err
	}
	fmt.Fprintf(a.Notes(), "%d of %s to do at most: what reads the same bytes as before is not done again\n", todo,
		console.Plural(all, "task", "tasks"))
	return nil
}

// shortened is a command line whose many inputs are told by a few.
func shortened(args []string) []string {
	const most = 6
	var out []string
	inputs := 0
	for _, arg := range args[1:] {
		if !strings.HasPrefix(arg, "--") {
			inputs++
		}
	}
	shown := 0
	out = append(out, args[0])
	for _, arg := range args[1:] {
		if strings.HasPrefix(arg, "--") || inputs <= most {
			out = append(out, arg)
			continue
		}
		if shown++; shown < most {
			out = append(out, arg)
		} else if shown == most {
			out = append(out, fmt.Sprintf("…%d-more", inputs-most+1))
		}
	}
	return out
}

func (a *app) cohortStatus() *cobra.Command {
	return &cobra.Command{
		Use:   "status RECIPE",
		Short: "Say how a study stands",
		Long: "Status prints a row for each task, and one for what tells of all of them: done, failed " +
			"(and why), left out by a rule of the recipe (and why), " +
			"changed (it was done, but a run\nwould do it again: a setting, an input or a result is " +
			"another), or open.",
		Example: "  calotte cohort status calotte-demo/recipe.yaml",
		Args:    oneRecipe,
		RunE: func(c *cobra.Command, args []string) error {
			s, err := a.openStudy(args[0])
			if err != nil {
				return err
			}
			defer s.Close()
			var rows [][]string
			counts := map[string]int{}
			standing := s.Standing()
			reports, err := s.Reports(standing)
			if err != nil {
				return err
			}
			for _, r := range append(standing, reports) {
				counts[r.State]++
				rows = append(rows, []string{r.ID, r.State, decimals(r.Seconds, 2),
					cmp.Or(r.Error, "n/a")})
			}
			if err := console.Table(a.Stdout, []string{"task", "state", "seconds", "error"},
				rows); err != nil {
				return err
			}
			fmt.Fprintf(a.Notes(), "%d done, %d failed, %d left out, %d changed since, %d open\n",
				counts[cohort.Done], counts[cohort.Failed], counts[cohort.LeftOut],
				counts[cohort.Changed],
				counts[cohort.Waiting])
			return nil
		},
	}
}

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
