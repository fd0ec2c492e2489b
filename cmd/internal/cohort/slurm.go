package cohort

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// Slurm hands people to a cluster as an array of jobs, one each, and the group to a job that
// waits for them. It is talked to by sbatch and squeue alone; a folder that all its machines
// see is all that it needs beside them.
type Slurm struct {
	// Options are further ones of sbatch, as the user gives them: --partition=short.
	Options []string
	// Person and Group are the command lines of the jobs; the number of the person comes
	// from the array.
	Person, Group []string
	// Logs is the folder for what the jobs print.
	Logs string
}

// ArrayTask is the number that the array gave this job.
func ArrayTask() (int, error) {
	text := os.Getenv("SLURM_ARRAY_TASK_ID")
	n, err := strconv.Atoi(text)
	if err != nil {
		return 0, errors.New("this is no job of an array: SLURM_ARRAY_TASK_ID is not set")
	}
	return n, nil
}

// Submit hands in the people of the given numbers, and the group behind them. It returns the
// jobs' numbers; people is empty where nobody is left to do.
func (s *Slurm) Submit(ctx context.Context, numbers []int) (people, group string, err error) {
	if err := os.MkdirAll(s.Logs, 0o777); err != nil {
		return "", "", err
	}
	var after []string
	if len(numbers) > 0 {
		var list []string
		for _, n := range numbers {
			list = append(list, strconv.Itoa(n))
		}
		people, err = s.sbatch(ctx, s.Person, "--job-name=calotte-people", "--array="+strings.Join(list, ","), "--output="+filepath.Join(s.Logs, "slurm-%A_%a.txt"))
		if err != nil {
			return "", "", err
		}
		// After all have ended, however: the group's job does what is lost once more.
		after = []string{"--dependency=afterany:" + people}
	}
	group, err = s.sbatch(ctx, s.Group, append(after, "--job-name=calotte-group", "--output="+filepath.Join(s.Logs, "slurm-%j.txt"))...)
	if err != nil && people != "" {
		err = fmt.Errorf("%w; the people go on as job %s: scancel %s, or run again when they are done", err, people, people)
	}
	return people, group, err
}

func (s *Slurm) sbatch(ctx context.Context, command []string, options ...string) (job string, err error) {
	args := append([]string{"--parsable"}, options...)
	c := exec.CommandContext(ctx, "sbatch", append(args, s.Options...)...)
	var script strings.Builder
	script.WriteString("#!/bin/sh\nexec")
	for _, word := range command {
		script.WriteString(" '" + strings.ReplaceAll(word, "'", `'\''`) + "'")
	}
	script.WriteString("\n")
	c.Stdin = strings.NewReader(script.String())
	out, err := c.Output()
	if err != nil {
		return "", fmt.Errorf("sbatch: %w", explained(err))
	}
	job, _, _ = strings.Cut(strings.TrimSpace(string(out)), ";") // a cluster's name may follow
	return job, nil
}

// explained is an error with what the program said, in one line.
func explained(err error) error {
	var exit *exec.ExitError
	if errors.As(err, &exit) && len(exit.Stderr) > 0 {
		return errors.New(strings.Join(strings.Fields(string(exit.Stderr)), " "))
	}
	if errors.Is(err, exec.ErrNotFound) {
		return errors.New("it is not on the PATH: is this a machine of the cluster?")
	}
	return err
}

// Running reports whether any of the jobs still waits or runs.
func (s *Slurm) Running(ctx context.Context, jobs ...string) (bool, error) {
	var list []string
	for _, j := range jobs {
		if j != "" {
			list = append(list, j)
		}
	}
	out, err := exec.CommandContext(ctx, "squeue", "--noheader", "--format=%T", "--jobs="+strings.Join(list, ",")).Output()
	if err != nil {
		if strings.Contains(explained(err).Error(), "Invalid job id") { // it has ended and is forgotten
			return false, nil
		}
		return false, fmt.Errorf("squeue: %w", explained(err))
	}
	return strings.TrimSpace(string(out)) != "", nil
}

// Follow waits for the jobs to end, and calls look in between.
func (s *Slurm) Follow(ctx context.Context, every time.Duration, look func(), jobs ...string) error {
	for misses := 0; ; {
		running, err := s.Running(ctx, jobs...)
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err != nil:
			if misses++; misses > 5 { // a controller may be away for a moment
				return err
			}
		case !running:
			return nil
		default:
			misses = 0
		}
		look()
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(every):
		}
	}
}
