package disk

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"regexp"
	"slices"
	"strings"
	"sync"
)

// besideName are the hidden names of files that are being written.
var besideName = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^\.calotte-[0-9a-f]{8}$`) })

// spoolName are those of folders, their number and the name of their place.
var spoolName = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^\.calotte-(new|old)-([0-9a-f]{8}-(.+))$`)
})

// IsLeftover reports whether a name is one of what is being written, or was
// when a run was killed.
func IsLeftover(name string) bool { return strings.HasPrefix(name, leftover) }

// sweep removes what killed runs left half written in the folder, and brings an
// exchange of folders to its end. It is for who holds the folder's lock. What
// another run is still writing is locked, and stays; what cannot be removed is
// left to the next.
func (f *Folder) sweep() {
	if !canLock {
		return
	}
	entries, err := f.ReadDir(".")
	if err != nil {
		return
	}
	for _, e := range entries {
		if m := spoolName().FindStringSubmatch(e.Name()); m != nil && m[1] == "old" && e.IsDir() {
			f.finish(m[2], m[3])
		}
	}
	for _, e := range entries {
		folder := e.IsDir() && strings.HasPrefix(e.Name(), comingMark) && spoolName().MatchString(e.Name())
		file := e.Type().IsRegular() && besideName().MatchString(e.Name())
		switch {
		case folder:
			f.ifDead(e.Name(), f.removeAll)
		case file:
			f.ifDead(e.Name(), f.Remove)
		}
	}
}

// SweepAll sweeps the folder and those in it, as deep as is said: each level is
// an open file.
func (f *Folder) SweepAll(ctx context.Context, depth int) error {
	entries, err := f.ReadDir(".")
	if err != nil {
		return err
	}
	if slices.ContainsFunc(entries, func(e fs.DirEntry) bool { return IsLeftover(e.Name()) }) {
		unlock, err := f.lock(ctx, "another run", nil)
		if err != nil {
			return err
		}
		f.sweep()
		unlock()
	}
	for _, e := range entries {
		if !e.IsDir() || depth == 0 {
			continue
		}
		sub, err := f.Sub(e.Name())
		if errors.Is(err, fs.ErrNotExist) { // it was swept
			continue
		}
		if err != nil {
			return err
		}
		err = sub.SweepAll(ctx, depth-1)
		sub.Close()
		if err != nil {
			return err
		}
	}
	return nil
}

// finish ends an exchange that was stopped after its first rename. What is no
// folder in any of the three places was not left by this program, and all
// stays.
func (f *Folder) finish(mark, name string) {
	switch there, coming := f.kind(name), f.kind(comingMark+mark); {
	case there == absent && coming == absent:
		f.rename(asideMark+mark, name) // nothing came: the earlier one is put back
	case there == absent && coming == aFolder:
		if f.rename(comingMark+mark, name) == nil && f.sync() == nil {
			f.removeAll(asideMark + mark)
		}
	case there == aFolder && f.sync() == nil:
		f.removeAll(asideMark + mark)
	}
}

// Kinds of what has a name in a folder.
const (
	absent = iota
	aFolder
	other
)

func (f *Folder) kind(name string) int {
	info, err := f.Lstat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return absent
	case err == nil && info.IsDir():
		return aFolder
	}
	return other
}

// ifDead removes a file or a folder that no run writes any more. It keeps the
// lock meanwhile: a run that has just made it, and has not locked it yet, then
// finds it taken, and makes another.
func (f *Folder) ifDead(name string, remove func(name string) error) {
	file, err := f.root.OpenFile(name, os.O_RDONLY, 0)
	if err != nil {
		return
	}
	defer file.Close()
	if flock(file, false) {
		remove(name)
	}
}
