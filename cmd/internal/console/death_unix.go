//go:build unix

package console

import "syscall"

// keepNoMemory forbids core dumps. Where it cannot, the system forbids or allows them as it
// does for any program.
func keepNoMemory() { _ = syscall.Setrlimit(syscall.RLIMIT_CORE, &syscall.Rlimit{}) }
