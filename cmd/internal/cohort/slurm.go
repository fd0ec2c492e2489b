package cohort

import (
	"context"
	"errors"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"calotte/cmd/internal/console"
)

// Slurm hands people to a cluster as arrays of jobs, one each, and the group to
// a job that waits for them. It is talked to by sbatch, squeue and, for how
// many jobs an array may have, scontrol; a folder that all its machines see is
// all that it needs beside them.
type Slurm struct {
	// Options are further ones of sbatch, as the user gives them:
	// --partition=short.
	Options []string
	// Person and Group are the command lines of the jobs. To that of the
	// people of an array the number of the first is added, as --first=1000;
	// the array adds the rest.
	Person, Group []string
	// Logs is a folder of nobody else's, for what the jobs print.
	Logs string
}

// Jobs are what was handed in: the arrays of the people, none where nobody is
// left to do, and the group's job.
type Jobs struct {
	People []string
	Group  string
}

// All are the numbers of all jobs.
func (j Jobs) All() []string { return append(slices.Clone(j.People), j.Group) }

// ArrayTask is the number that the array gave this job.
func ArrayTask() (int, error) {
	text := os.Getenv("SLURM_ARRAY_TASK_ID")
	n, err := strconv.Atoi(text)
	if err != nil {
		return 0, errors.New("this is no job of an array: SLURM_ARRAY_TASK_ID is not set")
	}
	return n, nil
}

// Submit hands in the people of the given numbers, and the group behind them.
func (s *Slurm) Submit(ctx context.Context, numbers []int) (Jobs, error) {
	var jobs Jobs
	if len(numbers) > 0 {
		size, err := arraySize(ctx)
		if err != nil {
			return jobs, err
		}
		for _, p := range pieces(numbers, size) {
			job, err := s.sbatch(ctx, append(slices.Clone(s.Person), fmt.Sprintf("--first=%d", p.first)),
				fmt.Sprintf("person-$((%d + SLURM_ARRAY_TASK_ID)).txt", p.first),
				"--job-name=calotte-people", "--array="+p.array)
			if err != nil {
				return jobs, jobs.goOn(fmt.Errorf("sbatch refuses an array of jobs, one for "+
					"each of %s: %w",
					console.Plural(p.people, "person", "people"), err))
			}
			jobs.People = append(jobs.People, job)
		}
	}
	options := []string{"--job-name=calotte-group"}
	if jobs.People != nil {
		// After all have ended, however: the group's job does what is
		// lost once more.
		options = append(options, "--dependency=afterany:"+strings.Join(jobs.People, ":"))
	}
	var err error
	if jobs.Group, err = s.sbatch(ctx, s.Group, "group.txt", options...); err != nil {
		return jobs, jobs.goOn(fmt.Errorf("sbatch refuses the job of the group: %w", err))
	}
	return jobs, nil
}

// goOn says of an error what becomes of the jobs that were handed in before.
func (j Jobs) goOn(err error) error {
	if j.People == nil {
		return err
	}
	list := strings.Join(j.People, " ")
	return fmt.Errorf("%w; what was submitted before goes on: run again when it has ended (squeue --jobs=%s), or "+
		"take it back: scancel %s", err, strings.Join(j.People, ","), list)
}

// mostInArray is how many people are handed in at once, on any cluster: so that
// the list of their numbers stays short, and since it is what clusters allow
// that nobody has set up otherwise.
const mostInArray = 1000

// A piece is an array of jobs: people by their numbers, less that of the first.
type piece struct {
	first, people int
	array         string
}

// pieces are arrays for people in the order of their numbers, whose indexes are
// below size.
func pieces(numbers []int, size int) []piece {
	var out []piece
	for len(numbers) > 0 {
		first := numbers[0]
		n := slices.IndexFunc(numbers, func(k int) bool { return k-first >= size })
		if n < 0 {
			n = len(numbers)
		}
		out = append(out, piece{first, n, ranges(numbers[:n], first)})
		numbers = numbers[n:]
	}
	return out
}

// ranges lists numbers less the first one: 0-9,12,14-20.
func ranges(numbers []int, first int) string {
	var parts []string
	for i := 0; i < len(numbers); {
		k := i
		for k+1 < len(numbers) && numbers[k+1] == numbers[k]+1 {
			k++
		}
		part := strconv.Itoa(numbers[i] - first)
		if k > i {
			part += "-" + strconv.Itoa(numbers[k]-first)
		}
		parts, i = append(parts, part), k+1
	}
	return strings.Join(parts, ",")
}

var maxArraySize = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`(?m)^MaxArraySize\s*=\s*(\d+)\s*$`) })

// arraySize is what the indexes of an array of the cluster have to stay below.
// Where the cluster does not tell, sbatch will.
func arraySize(ctx context.Context) (int, error) {
	out, err := ask(ctx, "", "scontrol", "show", "config")
	if err != nil {
		return mostInArray, ctx.Err()
	}
	found := maxArraySize().FindStringSubmatch(out)
	if found == nil {
		return mostInArray, nil
	}
	n, err := strconv.Atoi(found[1])
	if err != nil || n == 0 {
		return 0, fmt.Errorf("the cluster takes no arrays of jobs (MaxArraySize is %s): run without "+
			"--engine slurm, "+
			"or ask who runs the cluster", found[1])
	}
	return min(n, mostInArray), nil
}

// sbatch hands in a job. What its command prints goes into a file of the logs,
// which is gone where that is nothing; its name may hold what the shell works
// out. What the cluster itself would print names machines, and goes nowhere
// unless the user's options say so.
func (s *Slurm) sbatch(ctx context.Context, command []string, log string, options ...string) (job string, err error) {
	args := append(append([]string{"--parsable", "--output=/dev/null"}, options...), s.Options...)
	var line []string
	for _, word := range command {
		line = append(line, quoted(word))
	}
	script := "#!/bin/sh\n" +
		"log=" + quoted(s.Logs) + "/" + log + "\n" +
		// The shell would say which program it does not find, and what
		// is printed names no folder.
		"[ -x " + quoted(command[0]) +
		` ] || { echo "calotte is not where it was when this job was submitted: run again" >"$log"; exit 127; }` +
		"\n" +
		strings.Join(line, " ") + ` >"$log" 2>&1` + "\n" +
		"code=$?\n" +
		`[ $code -eq 0 ] || echo "ended with exit status $code" >>"$log"` + "\n" +
		`[ -s "$log" ] || rm -f "$log"` + "\n" +
		"exit $code\n"
	out, err := ask(ctx, script, "sbatch", args...)
	if err != nil {
		return "", err
	}
	found := jobNumber().FindStringSubmatch(strings.TrimSpace(out))
	if found == nil {
		return "", fmt.Errorf("it prints \"%s\": expected the number of a job (squeue tells whether it "+
			"has taken one)",
			console.Echo(out))
	}
	return found[1], nil
}

// jobNumber is what sbatch prints: the number of a job, which a cluster's name
// may follow.
var jobNumber = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^(\d{1,20})(;\S*)?$`) })

// quoted is a word for the shell.
func quoted(word string) string { return "'" + strings.ReplaceAll(word, "'", `'\''`) + "'" }
