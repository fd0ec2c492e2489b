package main

import (
	"runtime/debug"

	"calotte/cmd/internal/disk"
)

// abortOnDeath has a death of the program itself, be it a fault in it or the
// end of memory, end it by SIGABRT, which shells show as 134, after the trace
// to be reported. Without it Go exits with 2, which here is a mistake on the
// command line. It comes before anything else.
func abortOnDeath() {
	disk.KeepNoMemory()
	debug.SetTraceback("crash")
}
