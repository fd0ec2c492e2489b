package disk

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"path/filepath"
)

// leftover begins the names of what is being written, before it takes its
// place.
const leftover = ".calotte-"

// A pending file or folder is to take its place, or to leave it.
type pending struct {
	path    string
	content []byte
	remove  bool
	folder  *Folder      // that it lies in
	file    *file        // beside its place; nil: not written yet
	set     *FolderSpool // in place of a file

	placed, fresh bool // it lies in its place, where nothing was before
}

func (p *pending) isFolder() bool { return p.set != nil }

// write writes the file beside its place, unless it lies there already.
func (p *pending) write() (err error) {
	if p.remove || p.file != nil || p.isFolder() {
		return nil
	}
	if p.file, err = beside(p.folder); err != nil {
		return err
	}
	if _, err = p.file.Write(p.content); err != nil {
		return err
	}
	return p.file.Sync()
}

// place puts the file in its place, or removes what lies there.
func (p *pending) place() error {
	name := filepath.Base(p.path)
	_, err := p.folder.Lstat(name)
	p.fresh = errors.Is(err, fs.ErrNotExist)
	switch {
	case p.remove && p.fresh:
		return nil
	case p.remove:
		return p.folder.Remove(name)
	case p.isFolder():
		return p.set.place(name)
	}
	// Its lock ends here, but who sweeps holds the lock of the folder, as
	// this run does; and some systems do not rename open files.
	if err := p.file.Close(); err != nil {
		return err
	}
	if err := p.folder.rename(filepath.Base(p.file.path), name); err != nil {
		return err
	}
	p.placed = true
	return nil
}

// discard removes what lies beside its place.
func (p *pending) discard() {
	if p.file != nil && !p.placed {
		p.file.Close()
		p.folder.Remove(filepath.Base(p.file.path))
	}
	if p.isFolder() {
		p.set.discard()
	}
}

// beside makes a new file in a folder, under a hidden name, locked for as long
// as it is open.
func beside(folder *Folder) (*file, error) {
	for {
		made, err := folder.make(fmt.Sprintf("%s%08x", leftover, rand.Uint32()))
		switch {
		case errors.Is(err, fs.ErrExist):
			continue
		case err != nil:
			return nil, err
		case keepAlive(made.File):
			return made, nil
		}
		made.Close() // it was swept away before it was locked
	}
}
