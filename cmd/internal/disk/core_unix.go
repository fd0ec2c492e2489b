//go:build unix

package disk

import "syscall"

// KeepNoMemory forbids core dumps, since the memory holds recordings. Where it
// cannot, the system allows or forbids them as it does for any program.
func KeepNoMemory() { _ = syscall.Setrlimit(syscall.RLIMIT_CORE, &syscall.Rlimit{}) }
