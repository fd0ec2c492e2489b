package cohort

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
)

// A Study is a plan with the records of what was done of it.
type Study struct {
	*Plan
	Ledger  *Ledger
	Version string // of the program, for what tells of the results
	// Removed are files of earlier recipes that this one no longer asks for, as Do found them.
	Removed []string
}

// Do does on this machine what is not done yet. Failures are in the records; the error is
// that of an interrupt, of the folder, or of the reports.
func (s *Study) Do(ctx context.Context, runner *Runner) error {
	closed, err := s.Ledger.Open(ctx, true)
	if err != nil {
		return err
	}
	defer closed()
	if s.Removed, err = s.Ledger.Prune(s.tasks()); err != nil {
		return err
	}
	err = runner.Chains(ctx, s.chains())
	if err == nil {
		people := s.Survivors()
		if len(people) == 0 { // then nothing of the group is asked for any more
			gone, err := s.Ledger.Prune(s.tasks())
			if s.Removed = append(s.Removed, gone...); err != nil {
				return err
			}
		}
		// One after the other, since each holds everyone's averages in memory; each stage
		// anew, since what lies beside an average is known once it is made.
		runner.Width = 1
		for k := 0; k < len(s.OfGroup(people)) && err == nil; k++ {
			err = runner.Chains(ctx, sideBySide(s.OfGroup(people)[k]))
		}
	}
	if err := errors.Join(err, s.Ledger.Save(ctx)); err != nil {
		return err
	}
	return s.report(ctx)
}

// DoPerson does the tasks of one person, side by side with other processes that do others.
func (s *Study) DoPerson(ctx context.Context, number int, runner *Runner) error {
	closed, err := s.Ledger.Open(ctx, false)
	if err != nil {
		return err
	}
	defer closed()
	return runner.Chains(ctx, [][]Task{s.OfPerson(s.People[number])})
}

// Left are the numbers of the people who are not done as they would be done now.
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

// tasks are the tasks of everyone and of the group.
func (s *Study) tasks() []Task {
	var all []Task
	for _, chain := range s.chains() {
		all = append(all, chain...)
	}
	for _, stage := range s.OfGroup(s.Survivors()) {
		all = append(all, stage...)
	}
	return all
}

// Standing is how all tasks stand. Who has no recording has failed before any task.
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
				rows = append(rows, Record{ID: t.ID, Person: x.Name, State: Failed, Error: x.Err.Error()})
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

// Told reports whether every task has ended, one way or the other, and the index is written.
func (s *Study) Told() bool {
	_, err := os.Stat(filepath.Join(s.Dir, IndexPage))
	return err == nil && !slices.ContainsFunc(s.tasks(), func(t Task) bool {
		r, known := s.Ledger.Read(t.ID)
		return !s.settled(t) && !(known && r.State == Failed)
	})
}
