package cohort

import (
	"context"
	"errors"
	"io/fs"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"syscall"

	"golang.org/x/sync/errgroup"
)

// States of a file that is not as a record has it, beside [Changed].
const (
	Missing    = "missing"
	Added      = "added"      // it was not there then
	Unreadable = "unreadable" // the system cannot read it
)

// A Deviation is a file that is not as the record of a task has it.
type Deviation struct{ Task, File, State string }

// Check compares the files that the tasks which are done have read and made
// with their records, and returns how many there are and those that differ,
// task by task. With reread each is read, whatever is known of it, and what was
// found is kept for the next run, unless the results can only be read; else
// those are read whose stamp has changed. Ended, if it is there, is told of
// every task.
func (s *Study) Check(ctx context.Context, reread bool, ended func()) (files int, found []Deviation, err error) {
	var tasks []Task
	for _, t := range append(s.Tasks(), reports) {
		if r, ok := s.Ledger.Read(t.ID); ok && r.State == Done {
			tasks = append(tasks, t)
		}
	}
	locked := false
	if reread && len(tasks) > 0 {
		closed, err := s.Ledger.Open(ctx, true) // what a run is changing cannot be checked
		if err != nil && !readOnly(err) {
			return 0, nil, err
		}
		if locked = err == nil; locked {
			defer closed()
		}
		s.Ledger.reread = true
	}
	counts, deviations := make([]int, len(tasks)), make([][]Deviation, len(tasks))
	group, working := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	var telling sync.Mutex
	for i, t := range tasks {
		group.Go(func() (err error) {
			if err := working.Err(); err != nil {
				return err
			}
			if counts[i], deviations[i], err = s.Ledger.check(t); err != nil || ended == nil {
				return err
			}
			telling.Lock()
			defer telling.Unlock()
			ended()
			return nil
		})
	}
	if err := group.Wait(); err != nil {
		return 0, nil, err
	}
	for _, n := range counts {
		files += n
	}
	if locked {
		err = s.Ledger.Save(ctx)
	}
	return files, slices.Concat(deviations...), err
}

// readOnly reports whether an error says that nothing may be written: then no
// run of this user is at work there.
func readOnly(err error) bool {
	return errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EROFS)
}

// check compares a task's files with its record.
func (l *Ledger) check(t Task) (files int, found []Deviation, err error) {
	r, _ := l.Read(t.ID)
	var read []File
	for _, path := range t.Inputs {
		if _, made := l.name(path); !made {
			read = append(read, l.present(path, filepath.Base(path)))
		}
	}
	var made []File
	for _, pattern := range t.Outputs {
		names, err := l.matching(pattern)
		if err != nil {
			return 0, nil, err
		}
		for _, name := range names {
			made = append(made, l.present(l.path(name), name))
		}
	}
	for _, side := range [][2][]File{{r.Inputs, read}, {r.Files, made}} {
		recorded, now := side[0], side[1]
		files += len(recorded)
		for _, d := range deviations(recorded, now) {
			d.Task = t.ID
			found = append(found, d)
		}
	}
	return files, found, nil
}

// present is a file as it is now; in place of the hash of one that cannot be
// read stands why.
func (l *Ledger) present(path, name string) File {
	sum, err := l.hash(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		sum = Missing
	case err != nil:
		sum = Unreadable
	}
	return newFile(name, sum)
}

// deviations are the files that differ between a record and now, in order.
// Files of one name, out of several folders, are compared as they come in order
// of their hashes.
func deviations(recorded, now []File) (found []Deviation) {
	recorded, now = unmatched(recorded, now), unmatched(now, recorded)
	for _, f := range recorded {
		state := Missing
		if i := slices.IndexFunc(now, func(n File) bool { return n.Path == f.Path }); i >= 0 {
			if state = Changed; !isHash(now[i].SHA256) {
				state = now[i].SHA256
			}
			now = slices.Delete(now, i, i+1)
		}
		found = append(found, Deviation{File: f.Path, State: state})
	}
	for _, n := range now {
		found = append(found, Deviation{File: n.Path, State: Added})
	}
	return found
}

// unmatched are the files of a list that another does not hold.
func unmatched(list, other []File) []File {
	there := map[File]int{}
	for _, f := range other {
		there[f]++
	}
	var out []File
	for _, f := range list {
		if there[f]--; there[f] < 0 {
			out = append(out, f)
		}
	}
	return out
}
