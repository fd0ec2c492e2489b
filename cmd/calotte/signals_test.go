//go:build unix

package main

import (
	"bytes"
	"fmt"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// spooling is a command line that writes beside its places for a while.
func spooling(t *testing.T, dir string) []string {
	t.Helper()
	source := writeFile(t, filepath.Join(dir, "me_go_average.tsv"), averageTable(tableHeader, wave))
	return []string{"frames", source, "--during", "-100..400ms", "--every", "1ms", "--side", "240", "--quiet", "-o",
		filepath.Join(dir, "out", "frames")}
}

// waitFor waits until something hidden lies in a folder: a run is at work.
func waitFor(t *testing.T, dir string) {
	t.Helper()
	for range 1000 {
		if matches, err := filepath.Glob(filepath.Join(dir, "out", ".calotte-*", "*")); err != nil {
			t.Fatal(err)
		} else if len(matches) > 3 {
			return
		}
		time.Sleep(5 * time.Millisecond)
	}
	t.Fatal("the run writes nothing")
}

// Whatever asks a run to stop, it removes what is half written and exits as
// shells do.
func TestSignals(t *testing.T) {
	bin := builtProgram(t)
	for _, c := range []struct {
		signal syscall.Signal
		code   int
	}{{syscall.SIGINT, 130}, {syscall.SIGTERM, 143}, {syscall.SIGHUP, 129}} {
		dir := t.TempDir()
		run := exec.Command(bin, spooling(t, dir)...)
		var stderr bytes.Buffer
		run.Stderr = &stderr
		if err := run.Start(); err != nil {
			t.Fatal(err)
		}
		waitFor(t, dir)
		if err := run.Process.Signal(c.signal); err != nil {
			t.Fatal(err)
		}
		run.Wait()
		if code := run.ProcessState.ExitCode(); code != c.code {
			t.Errorf("%v: exit %d, want %d", c.signal, code, c.code)
		}
		if text := stderr.String(); text != "calotte: interrupted; what is on disk is whole\n" {
			t.Errorf("%v: %q", c.signal, text)
		}
		if left := namesIn(t, dir); len(left) != 1 {
			t.Errorf("%v: left behind: %v", c.signal, left)
		}
	}
}

// A hangup that is ignored from the start does not stop the run.
func TestIgnoredHangup(t *testing.T) {
	bin, dir := builtProgram(t), t.TempDir()
	var words []string
	for _, w := range spooling(t, dir) {
		words = append(words, "'"+w+"'")
	}
	run := exec.Command("sh", "-c", fmt.Sprintf("trap '' HUP; exec '%s' %s", bin, strings.Join(words, " ")))
	if err := run.Start(); err != nil {
		t.Fatal(err)
	}
	waitFor(t, dir)
	if err := run.Process.Signal(syscall.SIGHUP); err != nil {
		t.Fatal(err)
	}
	if err := run.Wait(); err != nil {
		t.Errorf("%v", err)
	}
	if names := namesIn(t, filepath.Join(dir, "out", "frames")); len(names) != 503 {
		t.Errorf("%d files, want 501 frames and the index", len(names))
	}
}

// What a run leaves that is killed, the next one in the folder sweeps away.
func TestNextRunSweeps(t *testing.T) {
	bin, dir := builtProgram(t), t.TempDir()
	args := spooling(t, dir)
	run := exec.Command(bin, args...)
	if err := run.Start(); err != nil {
		t.Fatal(err)
	}
	waitFor(t, dir)
	run.Process.Kill()
	run.Wait()
	if len(hidden(t, dir)) == 0 {
		t.Fatal("the kill left nothing to sweep")
	}
	must(t, "values", args[1], "--at", "100ms", "-o", filepath.Join(dir, "out", "values.tsv"))
	if left := hidden(t, dir); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}
