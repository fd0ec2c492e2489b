package main

import (
	"cmp"
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
