package console

import "runtime/debug"

// AbortOnDeath has a death of the program itself, be it a fault in it or the end of memory,
// end it by SIGABRT, which shells show as 134, after the trace to be reported. Without it Go
// exits with 2, which here is a mistake on the command line. No memory is kept on disk,
// since it holds recordings. It is to be called before anything else.
func AbortOnDeath() {
	keepNoMemory()
	debug.SetTraceback("crash")
}
