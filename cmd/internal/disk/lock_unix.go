//go:build unix

package disk

import (
	"os"
	"syscall"
)

// lockFolder waits until no other run writes into a folder, and keeps others out until
// unlock. The lock ends with the process, however that ends.
func lockFolder(dir string) (unlock func(), err error) {
	f, err := os.Open(dir)
	if err != nil {
		return nil, err
	}
	for syscall.Flock(int(f.Fd()), syscall.LOCK_EX) == syscall.EINTR {
	}
	// Some network file systems know no locks; there, hashes still tell a mixture.
	return func() { f.Close() }, nil
}

// TryLock takes a file, which it makes, as the sign that this run is at work, alone or shared
// with others that share it. It reports whether that was possible; the lock ends with the
// process, or with unlock.
func TryLock(path string, shared bool) (unlock func(), ok bool, err error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o666)
	if err != nil {
		return nil, false, err
	}
	kind := syscall.LOCK_EX
	if shared {
		kind = syscall.LOCK_SH
	}
	if syscall.Flock(int(f.Fd()), kind|syscall.LOCK_NB) == syscall.EWOULDBLOCK {
		f.Close()
		return nil, false, nil
	}
	// Some network file systems know no locks; there, each file still appears whole.
	return func() { f.Close() }, true, nil
}
