//go:build unix

package disk

import (
	"os"
	"syscall"
)

// canLock reports whether files can be locked on this system.
const canLock = true

// flock takes a lock that ends with the file, and reports whether it was free.
// Some network file systems know no locks; there, each file still appears
// whole, and hashes tell a mixture of two runs.
func flock(file *os.File, shared bool) (free bool) {
	kind := syscall.LOCK_EX
	if shared {
		kind = syscall.LOCK_SH
	}
	for {
		switch err := syscall.Flock(int(file.Fd()), kind|syscall.LOCK_NB); err {
		case syscall.EINTR:
		default:
			return err != syscall.EWOULDBLOCK
		}
	}
}

// hasName reports whether a file still has a name in some folder.
func hasName(file *os.File) bool {
	info, err := file.Stat()
	if err != nil {
		return false
	}
	system, ok := info.Sys().(*syscall.Stat_t)
	return !ok || system.Nlink > 0
}

// syncFolder makes the names in a folder last. Some systems cannot do that for
// a folder, which is no error of the run's.
func syncFolder(root *os.Root) error {
	folder, err := root.Open(".")
	if err != nil {
		return err
	}
	defer folder.Close()
	if err := folder.Sync(); err != nil && !isUnsupported(err) {
		return err
	}
	return nil
}

func isUnsupported(err error) bool {
	path, ok := err.(*os.PathError)
	return ok && (path.Err == syscall.EINVAL || path.Err == syscall.ENOTSUP)
}
