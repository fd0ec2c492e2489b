package disk

import (
	"io/fs"
	"syscall"
)

// systemStamp is when a file or what is known of it has changed last, in ns,
// and its number; 0 where the system keeps neither.
func systemStamp(info fs.FileInfo) (changed int64, inode uint64) {
	s, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return 0, 0
	}
	return s.Ctim.Nano(), s.Ino
}
