package cohort

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"runtime/debug"
	"slices"
)

// A Study is a plan with the records of what was done of it.
type Study struct {
	*Plan
	Ledger  *Ledger
	Version string // of the program, for what tells of the results
	// Removed are files of earlier recipes that this one no longer asks
	// for, as Do found them.
	Removed []string
}

// NewStudy is a study as one version of the program does it, with what is
// random from a seed. Load comes before anything else, or DoPerson alone.
func NewStudy(p *Plan, version string, seed uint64, force bool) *Study {
	s := &Study{Plan: p, Version: version}
	s.Ledger = &Ledger{
		Dir: p.Dir, Maker: fmt.Sprintf("calotte %s, seed %d", version, seed), Recipe: p.Path, Force: force,
		People: len(p.People), Inputs: p.inputs, Private: p.privateFolders(),
	}
	return s
}

// Load finds out what was done; Reload, what other processes have done since.
func (s *Study) Load() error   { return s.Ledger.Load() }
func (s *Study) Reload() error { return s.Ledger.loadAll() }

// Close lets go of the results.
func (s *Study) Close() { s.Ledger.close() }

// Do does on this machine what is not done yet. Failures are in the records;
// the error is that of an interrupt, of the folder, or of the reports.
func (s *Study) Do(ctx context.Context, runner *Runner) error {
	closed, err := s.Ledger.Open(ctx, true)
	if err != nil {
		return err
	}
	defer closed()
	if err := s.Ledger.loadAll(); err != nil { // another run may just have ended
		return err
	}
	if s.Removed, err = s.Ledger.Prune(s.Tasks()); err != nil {
		return err
	}
	err = runner.Chains(ctx, s.chains())
	if err == nil {
		err = s.doGroup(ctx, runner)
	}
	if err := errors.Join(err, s.Ledger.Save(ctx)); err != nil {
		return err
	}
	return s.report(ctx)
}

// doGroup does the tasks of the group over the people who are done.
func (s *Study) doGroup(ctx context.Context, runner *Runner) error {
	people := s.Survivors()
	if len(people) == 0 { // then nothing of the group is asked for any more
		gone, err := s.Ledger.Prune(s.Tasks())
		s.Removed = append(s.Removed, gone...)
		return err
	}
	// One after the other, since each holds everyone's averages in memory;
	// each stage anew, since what lies beside an average is known once it
	// is made.
	runner.Width = 1
	defer debug.SetGCPercent(debug.SetGCPercent(collectAt))
	for k := 0; ; k++ {
		stages := s.OfGroup(people)
		if k == len(stages) {
			return nil
		}
		if err := runner.Chains(ctx, sideBySide(stages[k])); err != nil {
			return err
		}
	}
}

// collectAt is by which share of what is in use, in per cent, the memory of the
// group's tasks grows before what is left of those that ended is collected. That
// is often, and costs little: averages are numbers, which need not be searched.
const collectAt = 30

// DoPerson does the tasks of one person, side by side with other processes that
// do others.
func (s *Study) DoPerson(ctx context.Context, number int, runner *Runner) error {
	if number < 0 || number >= len(s.People) || s.People[number].Err != nil {
		return fmt.Errorf("there is no participant %d: the recordings have changed since the jobs "+
			"were submitted",
			number)
	}
	if err := s.Ledger.begin(); err != nil {
		return err
	}
	closed, err := s.Ledger.Open(ctx, false)
	if err != nil {
		return err
	}
	defer closed()
	tasks := s.OfPerson(s.People[number])
	for _, t := range append([]Task{reports}, tasks...) {
		if err := s.Ledger.load(recordName(t.ID)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return runner.Chains(ctx, [][]Task{tasks})
}

// Left are the numbers of the people who are not done as they would be done
// now.
func (s *Study) Left(ctx context.Context) ([]int, error) {
	closed, err := s.Ledger.Open(ctx, false)
	if err != nil {
		return nil, err
	}
	defer closed()
	var numbers []int
	for i, x := range s.People {
		if x.Err == nil && slices.ContainsFunc(s.OfPerson(x), func(t Task) bool { return !s.settled(t) }) {
			numbers = append(numbers, i)
		}
	}
	return numbers, nil
}

// settled reports whether a task would not be done again.
func (s *Study) settled(t Task) bool {
	settled, err := s.Ledger.Settled(t)
	return err == nil && settled
}

// chains are the tasks of the people who have recordings, person by person.
func (s *Study) chains() [][]Task {
	var chains [][]Task
	for _, x := range s.People {
		if x.Err == nil {
			chains = append(chains, s.OfPerson(x))
		}
	}
	return chains
}

func sideBySide(tasks []Task) [][]Task {
	var chains [][]Task
	for _, t := range tasks {
		chains = append(chains, []Task{t})
	}
	return chains
}

// Survivors are the people whose tasks are done.
func (s *Study) Survivors() []string {
	var names []string
	for _, x := range s.People {
		done := x.Err == nil
		for _, t := range s.OfPerson(x) {
			r, ok := s.Ledger.Read(t.ID)
			done = done && ok && r.State == Done
		}
		if done {
			names = append(names, x.Name)
		}
	}
	return names
}

// Tasks are the tasks of everyone and of the group.
func (s *Study) Tasks() []Task {
	var all []Task
	for _, chain := range s.chains() {
		all = append(all, chain...)
	}
	for _, stage := range s.OfGroup(s.Survivors()) {
		all = append(all, stage...)
	}
	return all
}

// Standing is how all tasks stand. Who has no recording has failed before any
// task.
func (s *Study) Standing() []Record {
	var rows []Record
	row := func(t Task) {
		r, ok := s.Ledger.Read(t.ID)
		if !ok {
			r = Record{ID: t.ID, Person: t.Person, State: Waiting}
		}
		if r.State == Done && !s.settled(t) {
			r.State = Changed
		}
		rows = append(rows, r)
	}
	for _, x := range s.People {
		for _, t := range s.OfPerson(x) {
			if x.Err != nil {
				rows = append(rows, Record{ID: t.ID, Person: x.Name, State: Failed,
					Error: s.Ledger.line(t, x.Err.Error())})
			} else {
				row(t)
			}
		}
	}
	for _, stage := range s.OfGroup(s.Survivors()) {
		for _, t := range stage {
			row(t)
		}
	}
	return rows
}

// Told reports whether every task has ended, one way or the other, and the
// reports tell of it.
func (s *Study) Told() bool {
	_, told := s.Ledger.Read(reports.ID)
	return told && !slices.ContainsFunc(s.Tasks(), func(t Task) bool {
		r, known := s.Ledger.Read(t.ID)
		return !s.settled(t) && !(known && r.without())
	})
}
