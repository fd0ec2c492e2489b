package cohort

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
)

// passing are the reasons by which a queue says that a job's turn comes by
// itself. Any other may need somebody: a wrong partition, a limit, a machine
// that is down.
var passing = []string{"None", "WaitingForScheduling", "Priority", "Resources", "Dependency", "BeginTime",
	"JobArrayTaskLimit", "Cleaning", "Prolog", "Reservation"}

// A queue is how some jobs stand.
type queue struct {
	jobs    int      // that wait or run; an array counts once for all of it that waits
	reasons []string // why those that wait do, each once, in order
	stuck   string   // the reason that keeps all of them, where it need not pass
}

// ask asks how jobs stand.
func (s *Slurm) ask(ctx context.Context, jobs []string) (queue, error) {
	out, err := ask(ctx, "", "squeue", "--noheader", "--format=%T %r", "--jobs="+strings.Join(jobs, ","))
	if err != nil {
		if strings.Contains(err.Error(), "Invalid job id") { // they have ended and are forgotten
			return queue{}, nil
		}
		return queue{}, fmt.Errorf("squeue: %w", err)
	}
	return parseQueue(out), nil
}

// parseQueue reads lines of a state and a reason.
func parseQueue(text string) queue {
	var q queue
	moves := false
	for line := range strings.Lines(text) {
		state, reason, _ := strings.Cut(strings.TrimSpace(line), " ")
		if state == "" {
			continue
		}
		q.jobs++
		if reason = strings.Trim(reason, "()"); state != "PENDING" {
			moves = true
			continue
		}
		q.reasons = append(q.reasons, reason)
		switch {
		case !slices.Contains(passing, reason):
			q.stuck = reason
		case reason != "Dependency": // on jobs that are stuck themselves
			moves = true
		}
	}
	if moves {
		q.stuck = ""
	}
	slices.Sort(q.reasons)
	q.reasons = slices.Compact(q.reasons)
	return q
}

// A Watch follows jobs until they end.
type Watch struct {
	// Every is the least time between two looks, and Longest the most.
	Every, Longest time.Duration
	// Patience is how long all jobs may wait for a reason that need not
	// pass.
	Patience time.Duration
	// Look is called at every look, and Waits when what the queue says has
	// changed.
	Look  func()
	Waits func(reasons []string)
}

// Follow waits for the jobs to end.
func (s *Slurm) Follow(ctx context.Context, w Watch, jobs []string) error {
	var told []string
	var stuck string
	since := time.Now()
	every := w.Every
	for misses := 0; ; {
		q, err := s.ask(ctx, jobs)
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err != nil:
			if misses++; misses > 5 { // a controller may be away for a moment
				return err
			}
		case q.jobs == 0:
			return nil
		default:
			misses = 0
			if !slices.Equal(told, q.reasons) {
				told = q.reasons
				w.Waits(q.reasons)
			}
			if q.stuck == "" || q.stuck != stuck {
				stuck, since = q.stuck, time.Now()
			}
			if stuck != "" && time.Since(since) >= w.Patience {
				return fmt.Errorf("the jobs have waited for %v, and the queue says %s, which need "+
					"not pass: they "+
					"stay there (scancel %s takes them out); change what they ask for (--sbatch) "+
					"and run again, or "+
					"wait longer (--patience)",
					w.Patience, stuck, strings.Join(jobs, " "))
			}
		}
		begun := time.Now()
		w.Look()
		every = min(max(every, 10*time.Since(begun)), w.Longest) // what is looked at is work, too
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(every):
		}
		every = min(every*5/4, w.Longest)
	}
}
