//go:build unix

package main

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/topo/erp/average"
)

// program is the built program, for what cannot be tried in this process.
var program = sync.OnceValues(func() (string, error) {
	path := filepath.Join(builtIn, "calotte")
	if out, err := exec.Command("go", "build", "-o", path, ".").CombinedOutput(); err != nil {
		return "", fmt.Errorf("%w: %s", err, out)
	}
	return path, nil
})

func builtProgram(t *testing.T) string {
	t.Helper()
	if testing.Short() {
		t.Skip("builds the program")
	}
	path, err := program()
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// builtIn is removed when the tests end.
var builtIn string

func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "calotte-test-*")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	builtIn = dir
	code := m.Run()
	os.RemoveAll(dir)
	os.Exit(code)
}

// averageArgs averages a recording; what comes out differs by reference.
func averageArgs(rec, out, reference string) []string {
	return []string{"average", rec, "--condition", "go=go", "--condition", "stop=stop", "--epoch", "-100..300ms",
		"--reference", reference, "--save-epochs", "--force", "--quiet", "-o", out}
}

// state is the average in a folder: the bytes of all that belongs to it, or
// nothing where it is refused as no whole average.
func state(t *testing.T, out, condition string) string {
	t.Helper()
	stem := filepath.Join(out, "rec_"+condition)
	_, _, err := archive.Load(stem+"_average.tsv", average.Clock{})
	if err != nil {
		return ""
	}
	if _, _, err := archive.LoadEpochs(stem + "_average.tsv"); err != nil {
		return ""
	}
	var all []byte
	for _, suffix := range []string{"_average.tsv", "_sem.tsv", "_pairs.tsv", "_epochs.npy", "_epochs.tsv",
		"_average.json"} {
		b, err := os.ReadFile(stem + suffix)
		if err != nil && !errors.Is(err, os.ErrNotExist) {
			t.Fatal(err)
		}
		all = append(all, b...)
	}
	return string(all)
}

// Killed at any moment, a run leaves the average that was there, the new one,
// or one that is refused because its parts do not belong together: never a
// mixture that reads as whole.
func TestKilledWhileWriting(t *testing.T) {
	bin, dir := builtProgram(t), scratch(t)
	rec := sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf"))
	var takes time.Duration
	whole := map[string]map[string]bool{"go": {}, "stop": {}}
	var each [2]string // folders of undisturbed runs
	for k, reference := range []string{"recorded", "average"} {
		each[k] = filepath.Join(dir, reference)
		begun := time.Now()
		if out, err := exec.Command(bin, averageArgs(rec, each[k], reference)...).CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		takes = time.Since(begun)
		for condition := range whole {
			s := state(t, each[k], condition)
			if s == "" {
				t.Fatal("an undisturbed run is refused")
			}
			whole[condition][s] = true
		}
	}
	out := filepath.Join(dir, "out")
	outcomes := map[string]int{}
	const kills = 40
	for i := range kills {
		if err := os.RemoveAll(out); err != nil {
			t.Fatal(err)
		}
		if err := os.CopyFS(out, os.DirFS(each[i%2])); err != nil {
			t.Fatal(err)
		}
		before := state(t, out, "go")
		c := exec.Command(bin, averageArgs(rec, out, []string{"average", "recorded"}[i%2])...)
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(takes * time.Duration(i) / (kills - 5))
		c.Process.Kill()
		c.Wait()
		for condition, known := range whole {
			switch s := state(t, out, condition); {
			case s == "":
				outcomes["refused"]++
			case !known[s]:
				t.Errorf("killed after %d of %d parts of its time, %s is a mixture that reads as whole",
					i,
					kills-5,
					condition)
			case condition == "go" && s == before:
				outcomes["old"]++
			case condition == "go":
				outcomes["new"]++
			}
		}
	}
	t.Logf("%v", outcomes)
}

// A disk that takes no more is one line, and nothing is left.
func TestFullDisk(t *testing.T) {
	bin, dir := builtProgram(t), t.TempDir()
	rec := sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf"))
	out := filepath.Join(dir, "out")
	line := "ulimit -f 1; exec " + strings.Join(append([]string{bin}, averageArgs(rec, out, "average")...), " ")
	c := exec.Command("sh", "-c", line)
	var stderr bytes.Buffer
	c.Stderr = &stderr
	var exit *exec.ExitError
	if err := c.Run(); !errors.As(err, &exit) || exit.ExitCode() != console.Failed {
		t.Errorf("%v, want exit %d: %s", err, console.Failed, stderr.String())
	}
	if text := stderr.String(); strings.Count(text, "\n") != 1 || !strings.Contains(text, "writing") ||
		!strings.Contains(text, "file too large") {
		t.Errorf("%q is not one line about the file", text)
	}
	if left := listing(t, dir); !slices.Equal(left, []string{rec}) {
		t.Errorf("left behind: %v", left)
	}
}

// Of runs that write into one folder at once, one wins whole.
func TestRunsAtOnce(t *testing.T) {
	bin, dir := builtProgram(t), scratch(t)
	rec := sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf"))
	whole := map[string]bool{}
	references := []string{"average", "recorded", "Cz", "P7,P8"}
	for k, reference := range references {
		out := filepath.Join(dir, fmt.Sprint("alone", k))
		if text, err := exec.Command(bin, averageArgs(rec, out, reference)...).CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, text)
		}
		whole[state(t, out, "go")+state(t, out, "stop")] = true
	}
	for range 5 {
		out := filepath.Join(dir, "out")
		var running []*exec.Cmd
		for _, reference := range references {
			c := exec.Command(bin, averageArgs(rec, out, reference)...)
			c.Stderr = os.Stderr
			if err := c.Start(); err != nil {
				t.Fatal(err)
			}
			running = append(running, c)
		}
		for _, c := range running {
			if err := c.Wait(); err != nil {
				t.Error(err)
			}
		}
		if s := state(t, out, "go") + state(t, out, "stop"); !whole[s] {
			t.Error("the folder holds a mixture, or nothing whole")
		}
	}
}

// A study that is killed at ten moments and then goes on ends with the bytes of
// one that was never disturbed.
func TestKilledStudyGoesOn(t *testing.T) {
	program := builtProgram(t)
	undisturbed, path := smallStudy(t, smallRecipe)
	begun := time.Now()
	command(t, program, "cohort", "run", path)
	whole := time.Since(begun)
	want := results(t, filepath.Join(undisturbed, "results"))

	dir, path := smallStudy(t, smallRecipe)
	random := rand.New(rand.NewPCG(3, 4))
	killed := 0
	for killed < 10 {
		c := exec.Command(program, "cohort", "run", path)
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(random.Float64() * float64(whole) * .4))
		if err := c.Process.Kill(); err != nil && !errors.Is(err, os.ErrProcessDone) {
			t.Fatal(err)
		}
		if c.Wait() != nil {
			killed++
			continue
		}
		// It has come to its end; begin again.
		if err := os.RemoveAll(filepath.Join(dir, "results")); err != nil {
			t.Fatal(err)
		}
	}
	command(t, program, "cohort", "run", path)
	sameResults(t, results(t, filepath.Join(dir, "results")), want)
}
