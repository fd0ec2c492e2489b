package main

import (
	"context"
	"os"
	"runtime/debug"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
)

func main() {
	abortOnDeath()
	ctx, stop := console.Interruptible(context.Background())
	err := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	err = console.Cause(ctx, err)
	stop()
	os.Exit(console.Report(os.Stderr, err))
}

// abortOnDeath has a death of the program itself, be it a fault in it or the
// end of memory, end it by SIGABRT, which shells show as 134, after the trace
// to be reported. Without it Go exits with 2, which here is a mistake on the
// command line. It comes before anything else.
func abortOnDeath() {
	disk.KeepNoMemory()
	debug.SetTraceback("crash")
}
