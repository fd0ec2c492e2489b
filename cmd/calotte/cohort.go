package main

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
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
others. An interrupted or killed run goes on where it was.

With --engine slurm participants are done by an array of jobs and the group by one that
waits for them, submitted through sbatch; recordings, recipe and results have to lie in a
folder that all machines see. Without --detach it waits for the end. A job that is lost is
done once more. On a cluster:

  calotte cohort run recipe.yaml --engine slurm --sbatch=--partition=short --sbatch=--time=30`,
		Example: "  calotte cohort run calotte-demo/recipe.yaml",
		Args: oneRecipe,
		RunE: func(c *cobra.Command, args []string) error { return a.runCohort(c.Context(), f, args[0]) },
	}
	flags := c.Flags()
	flags.Var(&f.engine, "engine", "local, or slurm")
	flags.StringArrayVar(&f.sbatch, "sbatch", nil, "further `OPTION` of sbatch, such as --partition=short; repeat for more")
	flags.BoolVar(&f.detach, "detach", false, "with --engine slurm: do not wait for the end")
	return c
}

func (a *app) runCohort(ctx context.Context, f *cohortFlags, path string) error {
	if f.engine == onThisMachine && (f.detach || len(f.sbatch) > 0) {
		return console.Usagef("--detach and --sbatch are for --engine slurm: add it, or leave them out")
	}
	p, ledger, err := a.openCohort(path)
	if err != nil {
		return err
	}
	if f.engine == onSlurm {
		return a.submitCohort(ctx, f, p, ledger)
	}
	return a.doCohort(ctx, p, ledger)
}

// openCohort reads a recipe, and finds its people and its records.
func (a *app) openCohort(path string) (*plan, *cohort.Ledger, error) {
	r, err := readRecipe(path)
	if err != nil {
		return nil, nil, err
	}
	p, err := newPlan(r)
	if err != nil {
		return nil, nil, err
	}
	return p, &cohort.Ledger{Dir: p.dir, Version: version}, nil
}

// doCohort does a study on this machine.
func (a *app) doCohort(ctx context.Context, p *plan, ledger *cohort.Ledger) error {
	closed, err := ledger.Open(true)
	if err != nil {
		return err
	}
	defer closed()
	if err := ledger.Prune(p.allTasks(ledger)); err != nil {
		return err
	}
	begun := time.Now()
	w := &watch{app: a, bar: console.NewBar(a.stderr, a.quiet, len(p.people)+len(p.items)+1+len(p.differences), p.name)}
	runner := &cohort.Runner{Ledger: ledger, Do: a.quietly, Width: runtime.GOMAXPROCS(0), Ended: w.ended}
	err = runner.Chains(ctx, p.chains())
	if err == nil {
		people := p.survivors(ledger)
		// Each stage anew, since what lies beside an average is known once it is made.
		for k := 0; k < len(p.ofGroup(people)) && err == nil; k++ {
			err = runner.Chains(ctx, sideBySide(p.ofGroup(people)[k]))
		}
	}
	w.bar.Clear()
	if err := errors.Join(err, ledger.Save()); err != nil {
		return err
	}
	if err := a.report(p, ledger); err != nil {
		return err
	}
	return a.summarise(p, ledger, w.fresh, time.Since(begun))
}

// chains are the tasks of the people who have recordings, person by person.
func (p *plan) chains() [][]cohort.Task {
	var chains [][]cohort.Task
	for _, x := range p.people {
		if x.err == nil {
			chains = append(chains, p.ofPerson(x))
		}
	}
	return chains
}

func sideBySide(tasks []cohort.Task) [][]cohort.Task {
	var chains [][]cohort.Task
	for _, t := range tasks {
		chains = append(chains, []cohort.Task{t})
	}
	return chains
}

// survivors are the people whose tasks are done.
func (p *plan) survivors(ledger *cohort.Ledger) []string {
	var names []string
	for _, x := range p.people {
		done := x.err == nil
		for _, t := range p.ofPerson(x) {
			r, ok := ledger.Read(t.ID)
			done = done && ok && r.State == cohort.Done
		}
		if done {
			names = append(names, x.name)
		}
	}
	return names
}

// allTasks are the tasks of everyone and of the group.
func (p *plan) allTasks(ledger *cohort.Ledger) []cohort.Task {
	var all []cohort.Task
	for _, chain := range p.chains() {
		all = append(all, chain...)
	}
	for _, stage := range p.ofGroup(p.survivors(ledger)) {
		all = append(all, stage...)
	}
	return all
}

// quietly carries out a command line of a task. What it prints and notes is kept, not shown.
func (a *app) quietly(ctx context.Context, args []string) (printed []byte, said string, err error) {
	var out, notes bytes.Buffer
	args = append(slices.Clone(args), "--force", fmt.Sprintf("--seed=%d", a.seed))
	err = run(ctx, args, strings.NewReader(""), &out, &notes)
	return out.Bytes(), strings.TrimSpace(notes.String()), err
}

// A watch tells how far a run is.
type watch struct {
	*app
	bar   *console.Bar
	fresh int // tasks that were done just now
}

func (w *watch) ended(t cohort.Task, r cohort.Record, fresh bool) {
	w.bar.Add(1)
	if !fresh {
		return
	}
	w.fresh++
	if r.State == cohort.Failed {
		w.bar.Clear()
		fmt.Fprintf(w.stderr, "failed: %s: %s\n", t.ID, r.Error)
	}
}

// summarise says how a study stands, and is an error where something failed.
func (a *app) summarise(p *plan, ledger *cohort.Ledger, fresh int, took time.Duration) error {
	rows := p.standing(ledger)
	done, failed := 0, []string{}
	for _, r := range rows {
		switch r.State {
		case cohort.Done:
			done++
		case cohort.Failed:
			failed = append(failed, r.ID)
		}
	}
	w := a.summary(false)
	fmt.Fprintf(w, "%s: %d of %s, %d of %s done (%d just now, %.1f s)\n", p.name, len(p.survivors(ledger)), console.Plural(len(p.people), "person", "people"), done, console.Plural(len(rows), "task", "tasks"), fresh, took.Seconds())
	fmt.Fprintf(w, "  look at %s\n", filepath.Join(p.dir, indexPage))
	if len(failed) > 0 {
		return fmt.Errorf("%s failed: %s: see calotte cohort status %s", console.Plural(len(failed), "task", "tasks"), strings.Join(failed, ", "), p.path)
	}
	return nil
}

// standing is how all tasks stand. Who has no recording has failed before any task.
func (p *plan) standing(ledger *cohort.Ledger) []cohort.Record {
	var rows []cohort.Record
	row := func(t cohort.Task) {
		r, ok := ledger.Read(t.ID)
		if !ok {
			r = cohort.Record{ID: t.ID, Person: t.Person, State: "open"}
		}
		rows = append(rows, r)
	}
	for _, x := range p.people {
		for _, t := range p.ofPerson(x) {
			if x.err != nil {
				rows = append(rows, cohort.Record{ID: t.ID, Person: x.name, State: cohort.Failed, Error: x.err.Error()})
			} else {
				row(t)
			}
		}
	}
	for _, stage := range p.ofGroup(p.survivors(ledger)) {
		for _, t := range stage {
			row(t)
		}
	}
	return rows
}

func (a *app) cohortPlan() *cobra.Command {
	return &cobra.Command{
		Use:     "plan RECIPE",
		Short:   "Print what would be done",
		Long:    "Plan reads the recipe, checks every key of it, finds the participants, and prints the command\nlines that a run would carry out. It changes nothing.",
		Example: "  calotte cohort plan calotte-demo/recipe.yaml",
		Args:    oneRecipe,
		RunE: func(c *cobra.Command, args []string) error {
			p, ledger, err := a.openCohort(args[0])
			if err != nil {
				return err
			}
			if err := ledger.Load(); err != nil {
				return err
			}
			return a.printPlan(p, ledger)
		},
	}
}

func (a *app) printPlan(p *plan, ledger *cohort.Ledger) error {
	var b strings.Builder
	todo, all := 0, 0
	stale := false // a task before has to be done, so those that read its files have to, too
	print := func(t cohort.Task, known bool) error {
		settled := false
		if known {
			var err error
			if settled, err = ledger.Settled(t); err != nil {
				settled = false // a file is missing, which the run will tell
			}
		}
		all++
		if settled {
			return nil
		}
		todo++
		stale = true
		fmt.Fprintf(&b, "$ %s\n", shellLine(append([]string{"calotte"}, shortened(t.Args)...)))
		return nil
	}
	var people []string
	for _, x := range p.people {
		if x.err != nil {
			fmt.Fprintf(&b, "# %s is left out: %v\n", x.name, x.err)
			continue
		}
		people = append(people, x.name)
		for _, t := range p.ofPerson(x) {
			if err := print(t, true); err != nil {
				return err
			}
		}
	}
	for _, stage := range p.ofGroup(people) {
		before := stale
		for _, t := range stage {
			if err := print(t, !before); err != nil {
				return err
			}
		}
	}
	if _, err := io.WriteString(a.stdout, b.String()); err != nil {
		return err
	}
	fmt.Fprintf(a.notes(), "%d of %s to do\n", todo, console.Plural(all, "task", "tasks"))
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
		Use:     "status RECIPE",
		Short:   "Say how a study stands",
		Long:    "Status prints a row for each task: done, failed (and why), or open.",
		Example: "  calotte cohort status calotte-demo/recipe.yaml",
		Args:    oneRecipe,
		RunE: func(c *cobra.Command, args []string) error {
			p, ledger, err := a.openCohort(args[0])
			if err != nil {
				return err
			}
			var b bytes.Buffer
			cells(&b, "task", "state", "seconds", "error")
			counts := map[string]int{}
			for _, r := range p.standing(ledger) {
				counts[r.State]++
				cells(&b, r.ID, r.State, decimals(r.Seconds, 2), cmp.Or(r.Error, "n/a"))
			}
			if _, err := a.stdout.Write(b.Bytes()); err != nil {
				return err
			}
			fmt.Fprintf(a.notes(), "%d done, %d failed, %d open\n", counts[cohort.Done], counts[cohort.Failed], counts["open"])
			return nil
		},
	}
}

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
	if err := ledger.Load(); err != nil {
		return err
	}
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
