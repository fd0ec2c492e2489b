package disk

import (
	"io/fs"
	"time"
)

// A Stamp tells whether a file may have changed, without reading it. A change
// that keeps size and time, as programs make that rewrite a header in place,
// still changes the time that the system itself keeps, and a file that takes
// another's place has another number.
type Stamp struct {
	Size int64 `json:"size"`
	Time int64 `json:"time"` // of the content, in ns
	// of the content, name or rights, in ns; 0: the system does not keep it
	Changed int64  `json:"changed,omitzero"`
	Inode   uint64 `json:"inode,omitzero"` // the number of the file; 0: likewise
}

// StampOf is the stamp of a file.
func StampOf(info fs.FileInfo) Stamp {
	s := Stamp{Size: info.Size(), Time: info.ModTime().UnixNano()}
	s.Changed, s.Inode = systemStamp(info)
	return s
}

// freshest is the age below which a stamp tells nothing: a change within a tick
// of the clock of the file's system, at most two seconds, leaves it as it is.
const freshest = 2 * time.Second

// Settled reports whether the file has been as it is for so long, at a time,
// that any change after it gives another stamp.
func (s Stamp) Settled(at time.Time) bool {
	return at.UnixNano()-max(s.Time, s.Changed) > int64(freshest)
}
