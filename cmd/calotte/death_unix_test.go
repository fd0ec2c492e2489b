//go:build unix

package main

import (
	"bytes"
	"os"
	"os/exec"
	"runtime/debug"
	"strings"
	"syscall"
	"testing"
)

// deaths are ways in which a program ends without being asked.
var deaths = map[string]func(){
	"panic":              func() { panic("a fault") },
	"panic of a worker":  func() { go func() { panic("a fault") }(); select {} },
	"nil":                func() { var p *int; *p = 1 },
	"the runtime's own":  exhaustStack,
	"asked for its work": func() { _ = syscall.Kill(os.Getpid(), syscall.SIGQUIT); select {} },
}

func exhaustStack() {
	debug.SetMaxStack(1 << 16)
	var deeper func([]byte)
	deeper = func(b []byte) { deeper(append(b, 1)) }
	deeper(nil)
}

// dieAsking dies while the program, started as ever, waits for an answer.
func dieAsking(die func()) {
	questions, out, err := os.Pipe()
	if err != nil {
		panic(err)
	}
	in, answers, err := os.Pipe()
	if err != nil {
		panic(err)
	}
	os.Args, os.Stdin, os.Stdout, os.Stderr = []string{"calotte", "guide", "P014"}, in, out, out
	go func() {
		defer answers.Close() // none is given, and none is missing
		_, _ = questions.Read(make([]byte, 1))
		die()
	}()
	main()
}

// However the program dies, its exit code is none that it has given a meaning.
func TestDeath(t *testing.T) {
	const which = "CALOTTE_TEST_DEATH"
	if die := deaths[os.Getenv(which)]; die != nil {
		dieAsking(die)
	}
	dir := t.TempDir()
	for name := range deaths {
		dying := exec.Command(os.Args[0], "-test.run=^TestDeath$")
		dying.Dir, dying.Env = dir, append(os.Environ(), which+"="+name)
		var stderr bytes.Buffer
		dying.Stderr = &stderr
		err := dying.Run()
		status, ok := dying.ProcessState.Sys().(syscall.WaitStatus)
		if err == nil || !ok || !status.Signaled() || status.Signal() != syscall.SIGABRT {
			t.Errorf("%s: %v, want the end by SIGABRT", name, err)
		}
		if status.CoreDump() {
			t.Errorf("%s: the memory was kept", name)
		}
		if !strings.Contains(stderr.String(), "goroutine ") {
			t.Errorf("%s: no trace: %s", name, stderr.String())
		}
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}
