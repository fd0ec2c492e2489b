package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"calotte/cmd/internal/cohort"
	"calotte/cmd/internal/console"
)

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
	return p, &cohort.Ledger{Dir: p.dir, Maker: fmt.Sprintf("calotte %s, seed %d", version, a.seed), Force: a.force}, nil
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
		// One after the other, since each holds everyone's averages in memory; each stage
		// anew, since what lies beside an average is known once it is made.
		runner.Width = 1
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
