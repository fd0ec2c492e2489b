//go:build unix

package cohort

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// cluster has programs that do what shell scripts say, by their names.
func cluster(t *testing.T, scripts map[string]string) {
	t.Helper()
	bin := t.TempDir()
	for name, text := range scripts {
		if err := os.WriteFile(filepath.Join(bin, name), []byte("#!/bin/sh\n"+text+"\n"), 0o777); err != nil {
			t.Fatal(err)
		}
	}
	t.Setenv("PATH", bin+string(filepath.ListSeparator)+os.Getenv("PATH"))
}

// Only the number of a job is one, whatever a cluster's programs print.
func TestSubmitTakesNumbers(t *testing.T) {
	for script, want := range map[string]string{
		"echo 41":               "41",
		"echo '41;north'":       "41",
		"true":                  "",
		"echo; echo":            "",
		"echo none":             "",
		"printf '41\\n42\\n'":   "",
		"echo '41 --help'":      "",
		"echo '41,42'":          "",
		"yes 7 | head -c 20000": "",
		"head -c 100000000 </dev/zero | tr '\\0' 7": "",
	} {
		cluster(t, map[string]string{"sbatch": "cat >/dev/null; " + script})
		jobs, err := (&Slurm{Group: []string{"calotte"}}).Submit(t.Context(), nil)
		switch {
		case want != "" && (err != nil || jobs.Group != want):
			t.Errorf("%s: job %.100q, %v", script, jobs.Group, err)
		case want == "" && (err == nil || len(err.Error()) > 300 ||
			!strings.Contains(err.Error(), "expected the number of a job")):
			t.Errorf("%s: job %.100q, %.1000v", script, jobs.Group, err)
		}
	}
}

// What a program starts and leaves behind holds nobody up, and neither does an
// interrupt wait for it.
func TestAskWaitsForTheProgramAlone(t *testing.T) {
	cluster(t, map[string]string{"leaves": "sleep 30 & echo done", "waits": "sleep 30; echo done",
		"fails": "head -c 100000 /dev/zero | tr '\\0' x >&2; exit 1"})
	begun := time.Now()
	if text, err := ask(t.Context(), "", "leaves"); err != nil || text != "done\n" {
		t.Errorf("%q, %v", text, err)
	}
	ctx, stop := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer stop()
	if _, err := ask(ctx, "", "waits"); !errors.Is(err, context.DeadlineExceeded) {
		t.Error(err)
	}
	if _, err := ask(t.Context(), "", "fails"); err == nil || len(err.Error()) > mostFaults {
		t.Errorf("%.100v", err)
	}
	if took := time.Since(begun); took > 20*time.Second {
		t.Errorf("it took %v", took)
	}
}

// A program that is gone is told without its folder.
func TestJobsWithoutTheirProgram(t *testing.T) {
	cluster(t, map[string]string{"sbatch": "sh >&2; echo 41"})
	logs := t.TempDir()
	gone := filepath.Join(t.TempDir(), "calotte")
	if _, err := (&Slurm{Group: []string{gone, "cohort"}, Logs: logs}).Submit(t.Context(), nil); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(logs, "group.txt"))
	if err != nil || strings.Contains(string(text), "/") || !strings.Contains(string(text), "run again") {
		t.Errorf("%q, %v", text, err)
	}
}
