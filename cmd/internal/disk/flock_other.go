//go:build !unix

package disk

import "os"

// canLock reports whether files can be locked on this system.
const canLock = false

func flock(*os.File, bool) (free bool) { return true }

func hasName(*os.File) bool { return true }

// syncFolder does nothing where a folder cannot be synced.
func syncFolder(*os.Root) error { return nil }
