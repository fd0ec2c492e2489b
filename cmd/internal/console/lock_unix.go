//go:build unix

package console

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
