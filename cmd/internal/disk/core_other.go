//go:build !unix

package disk

// KeepNoMemory has nothing to forbid on this system.
func KeepNoMemory() {}
