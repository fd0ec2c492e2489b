package cohort

import (
	"context"
	"errors"
	"sync"
	"time"

	"calotte/topo/erp"

	"golang.org/x/sync/errgroup"
)

// A Runner does tasks on this machine.
type Runner struct {
	Ledger *Ledger
	// Do carries out a command line and returns what it printed and what it
	// noted.
	Do func(ctx context.Context, args []string) (printed []byte, said string, err error)
	// Width is how many chains are done at once.
	Width int
	// Ended, if it is there, is told of every task that ended, one at a
	// time: whether it was done just now, and how.
	Ended func(t Task, r Record, fresh bool)

	told sync.Mutex
}

// Chains does lists of tasks side by side, the tasks of a list one after the
// other. A task that fails ends its list, not the others. The error is that of
// an interrupt or of the ledger; failures are in the records.
func (r *Runner) Chains(ctx context.Context, chains [][]Task) error {
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(max(1, r.Width))
	for _, chain := range chains {
		group.Go(func() error {
			for _, t := range chain {
				ok, err := r.one(ctx, t)
				if err != nil || !ok {
					return err
				}
			}
			return nil
		})
	}
	return group.Wait()
}

// one does a task unless it is settled, and reports whether it is done.
func (r *Runner) one(ctx context.Context, t Task) (ok bool, err error) {
	if err := ctx.Err(); err != nil {
		return false, err
	}
	record, fresh, err := r.settle(ctx, t)
	if err != nil {
		return false, err
	}
	if r.Ended != nil {
		r.told.Lock()
		r.Ended(t, record, fresh)
		r.told.Unlock()
	}
	return record.State == Done, nil
}

func (r *Runner) settle(ctx context.Context, t Task) (record Record, fresh bool, err error) {
	begun := time.Now()
	record = Record{ID: t.ID, Person: t.Person}
	ended := func(state string, err error) (Record, bool, error) {
		record.State, record.Seconds = state, time.Since(begun).Seconds()
		if err != nil {
			record.Error = r.Ledger.line(t, err.Error())
		}
		return record, true, r.Ledger.keep(ctx, record, t.Outputs)
	}
	if settled, err := r.Ledger.Settled(t); err == nil && settled {
		record, _ = r.Ledger.Read(t.ID)
		return record, false, nil
	}
	if err := r.Ledger.dropReports(); err != nil {
		return ended(Failed, err)
	}
	// What it made before is of other settings or inputs: where it fails
	// now, nobody is to take it for the result.
	before, _ := r.Ledger.Read(t.ID)
	if _, err := r.Ledger.removeAll(before.Files); err != nil {
		record.Files = before.Files // for the next run to remove
		return ended(Failed, err)
	}
	key, inputs, err := r.Ledger.key(t)
	if err == nil { // before the work, whether a link leads its files elsewhere
		_, err = r.Ledger.outputs(t)
	}
	if err != nil {
		return ended(Failed, err)
	}
	printed, said, err := r.Do(ctx, t.Args)
	if errors.Is(err, context.Canceled) {
		return record, true, err
	}
	if err == nil && t.Printed != "" {
		err = r.Ledger.put(ctx, made{t.Printed, printed})
	}
	if _, byRule := errors.AsType[*erp.RuleError](err); byRule {
		return ended(LeftOut, err)
	}
	if err != nil {
		return ended(Failed, err)
	}
	files, err := r.Ledger.outputs(t)
	if err != nil {
		return ended(Failed, err)
	}
	record.Key, record.Inputs, record.Files = key, inputs, files
	record.Said = r.Ledger.lines(t, said)
	return ended(Done, nil)
}
