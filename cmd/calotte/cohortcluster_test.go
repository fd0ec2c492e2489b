//go:build unix

package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/console"
)

// cluster stands in for the programs of one: sbatch does the jobs at once,
// except for those of which lost says so (a shell's condition on $n, the number
// of the job in its array), squeue prints a queue and scontrol a setting. What
// was asked for is in its log.
func cluster(t *testing.T, lost, queue, setting string) (log string) {
	t.Helper()
	bin := t.TempDir()
	log = filepath.Join(bin, "log")
	writeScript(t, filepath.Join(bin, "sbatch"), `script=$(cat); echo "sbatch $*" >>'`+log+`'
echo x >>'`+bin+`/jobs'; job=$((40 + $(wc -l <'`+bin+`/jobs')))
case "$*" in
*--array=*)
  list=$(echo "$*" | sed 's/.*--array=\([0-9,-]*\).*/\1/; s/,/ /g')
  for part in $list; do
    n=${part%-*}
    while [ $n -le ${part#*-} ]; do
      `+lost+` || SLURM_ARRAY_TASK_ID=$n sh -c "$script"
      n=$((n + 1))
    done
  done;;
*) sh -c "$script";;
esac
echo "$job;cluster"
`)
	writeScript(t, filepath.Join(bin, "squeue"), `echo "squeue $*" >>'`+log+"'\n"+queue+"\n")
	writeScript(t, filepath.Join(bin, "scontrol"), `echo "scontrol $*" >>'`+log+`'
echo 'Configuration data as of a day'; echo '`+setting+`'; echo 'MaxDBDMsgs = 20012'
`)
	t.Setenv("PATH", bin+string(os.PathListSeparator)+os.Getenv("PATH"))
	return log
}

const ended = "echo 'slurm_load_jobs error: Invalid job id specified' >&2; exit 1"

// A cluster gets the people as arrays, once each, and the group behind them.
func TestCohortSubmits(t *testing.T) {
	program := builtProgram(t)
	for _, c := range []struct {
		what, setting string
		asked         []string
	}{
		{"all at once", "MaxArraySize            = 1001",
			[]string{"--array=0-2 ", "--dependency=afterany:41 "}},
		{"two at once", "MaxArraySize            = 2",
			[]string{"--array=0-1 ", "--array=0 ", "--dependency=afterany:41:42 "}},
		{"one at once", "MaxArraySize            = 1",
			[]string{"--array=0 ", "--dependency=afterany:41:42:43 "}},
		{"as it does not say", "", []string{"--array=0-2 "}},
	} {
		t.Run(c.what, func(t *testing.T) {
			// The job of the last person of the first array is
			// lost: nothing is done for it.
			log := cluster(t, "[ $n = 1 ]", ended, c.setting)
			dir, path := smallStudy(t, smallRecipe)
			command(t, program, "cohort", "run", path, "--engine", "slurm", "--sbatch=--partition=short")
			text := readText(t, log)
			for _, want := range c.asked {
				if !strings.Contains(text, want) {
					t.Errorf("%s was not asked for:\n%s", want, text)
				}
			}
			if n := strings.Count(text, "sbatch "); strings.Count(text, "--partition=short") != n {
				t.Errorf("not all %d submissions have the user's option:\n%s", n, text)
			}
			other, path := smallStudy(t, smallRecipe)
			must(t, "cohort", "run", path)
			sameResults(t, results(t, filepath.Join(dir, "results")),
				results(t, filepath.Join(other, "results")))
			if left := listing(t, filepath.Join(dir, "results", "status", "jobs")); len(left) > 0 {
				t.Errorf("jobs that said nothing leave %v", left)
			}
		})
	}
}

// What a cluster refuses is told in one line, with what becomes of the jobs it
// has taken.
func TestCohortClusterRefuses(t *testing.T) {
	_, path := smallStudy(t, smallRecipe)
	run := func(options ...string) string {
		t.Helper()
		_, stderr, code := calotte(append([]string{"cohort", "run", path, "--engine", "slurm"}, options...)...)
		lines := strings.Split(strings.TrimSpace(stderr), "\n")
		if code != console.Failed {
			t.Errorf("exit %d: %s", code, stderr)
		}
		return lines[len(lines)-1]
	}
	wants := func(text string, words ...string) {
		t.Helper()
		for _, w := range words {
			if !strings.Contains(text, w) {
				t.Errorf("%q does not say %q", text, w)
			}
		}
	}
	cluster(t, "true", ended, "MaxArraySize = 0")
	wants(run(), "takes no arrays", "MaxArraySize")

	// It takes one array, and no more.
	log := cluster(t, "true", ended, "MaxArraySize = 2")
	bin := filepath.Dir(log)
	writeScript(t, filepath.Join(bin, "sbatch"), `cat >'`+bin+`/script'
[ -e '`+bin+`/one' ] && { echo 'sbatch: error: Batch job submission failed: Job violates accounting/QOS policy' >&2; exit 1; }
touch '`+bin+`/one'; echo 41
`)
	wants(run(), "an array of jobs, one for each of 1 person", "violates accounting/QOS policy", "goes on",
		"run again",
		"scancel 41")

	// The jobs never start: the queue says why, and the wait ends.
	writeScript(t, filepath.Join(bin, "sbatch"), "cat >/dev/null; echo 41\n")
	for _, queue := range []string{"PENDING PartitionTimeLimit", "PENDING DependencyNeverSatisfied"} {
		writeScript(t, filepath.Join(bin, "squeue"), "echo '"+queue+"'; echo 'PENDING Dependency'\n")
		_, reason, _ := strings.Cut(queue, " ")
		wants(run("--patience", "1s"), "waited for 1s", reason, "they stay there", "scancel 41", "--patience")
	}
	// They wait for their turn at first, and end.
	writeScript(t, filepath.Join(bin, "squeue"),
		fmt.Sprintf("n=$(cat '%[1]s/n' 2>/dev/null || echo 0); echo $((n + 1)) >'%[1]s/n'; [ $n -lt "+
			"3 ] && echo "+
			"'PENDING Priority'; exit 0\n", bin))
	wants(run("--patience", "1ms"), "the jobs have ended twice", "status/jobs", "sacct")
}
