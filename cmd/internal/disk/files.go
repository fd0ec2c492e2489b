package disk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"syscall"
)

// Files is the output of one run. Paths are planned and checked before the work
// begins. At the end all contents are written beside their places, and only
// when that is done are they renamed, in the order in which they were put: the
// time in which a kill leaves some files of the old run and some of the new is
// that of a few renames. A run that ends otherwise calls Abandon.
type Files struct {
	Force  bool     // existing files may be replaced
	Inputs []string // paths that must never be written to
	// Within, if it is there, is the folder that holds all outputs; a link
	// in it that leads elsewhere is refused.
	Within string
	// Who is this run, for those that have to wait for it.
	Who string
	// Waits, if it is there, is told once for whom this run waits.
	Waits func(text string)

	queue []*pending
	begun []*pending // spools that are not at their end
	reached
}

// Plan refuses paths that exist (without Force), that are inputs, or that lie
// in a folder that cannot be made or written to. It leaves nothing behind.
func (f *Files) Plan(paths ...string) error {
	for _, path := range paths {
		if err := f.check(path); err != nil {
			return err
		}
	}
	tried := map[string]bool{}
	for _, path := range paths {
		dir := filepath.Dir(path)
		if tried[dir] {
			continue
		}
		tried[dir] = true
		if err := writableFolder(dir); err != nil {
			return err
		}
	}
	return nil
}

func (f *Files) check(path string) error {
	// Lstat also sees a link that leads nowhere, which a new file would
	// replace.
	_, err := os.Lstat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENOTDIR): // the folder is looked at next
		return nil
	case err != nil:
		return err
	}
	if info, err := os.Stat(path); err == nil {
		if info.IsDir() {
			return fmt.Errorf("%s is a folder: give the name of a file", path)
		}
		if f.isInput(info) {
			return fmt.Errorf("%s is an input and would be overwritten: choose another output", path)
		}
	}
	if !f.Force {
		return fmt.Errorf("%s exists: choose another output or add --force", path)
	}
	return nil
}

// checkAgain looks at the place of an output under the lock of its folder.
func (f *Files) checkAgain(p *pending) error {
	switch {
	case p.isFolder():
		return f.checkFolder(p.path, p.set.ours)
	case f.Force || p.remove:
		return nil
	}
	return f.check(p.path)
}

// isInput reports whether a file is one of the inputs, whatever its name.
func (f *Files) isInput(info fs.FileInfo) bool {
	return slices.ContainsFunc(f.Inputs, func(path string) bool {
		in, err := os.Stat(path)
		return err == nil && os.SameFile(in, info)
	})
}

// writableFolder tries the folder, or the nearest one above it that exists, so
// that a long job does not end in an error that its beginning could have shown.
func writableFolder(dir string) error {
	dir, _, err := nearest(dir)
	if err != nil {
		return err
	}
	folder, err := OpenFolder(dir)
	if err != nil {
		return fmt.Errorf("cannot write into %s: %w", dir, cause(err))
	}
	defer folder.Close()
	probe, err := beside(folder)
	if err != nil {
		return fmt.Errorf("cannot write into %s: %w", dir, cause(err))
	}
	err = errors.Join(probe.Close(), folder.Remove(filepath.Base(probe.path)))
	if errors.Is(err, fs.ErrNotExist) { // another run has swept it, once it was closed
		return nil
	}
	return err
}

// Put queues a file. Files that hold hashes of others are put after them.
func (f *Files) Put(path string, content []byte) {
	f.queue = append(f.queue, &pending{path: path, content: content})
}

// Drop queues the removal of a file of an earlier run that has none in this
// one, and would be taken for a part of it.
func (f *Files) Drop(path string) {
	f.queue = append(f.queue, &pending{path: path, remove: true})
}

// Write puts the queued files on disk, while no other run puts any into their
// folders: of two runs at once the later one finds the files of the earlier and
// is refused, or with Force replaces all of them. On an error it removes what
// it has written beside the places, and the files and folders that it has made;
// a file that took the place of an older one stays. It ends early, with the
// error of the context, while it waits for another run.
func (f *Files) Write(ctx context.Context) (err error) {
	defer func() {
		if err != nil {
			f.takeBack()
		}
		f.Abandon()
	}()
	for _, p := range f.queue {
		if p.folder, err = f.reach(f.Within, filepath.Dir(p.path)); err != nil {
			return writing(filepath.Dir(p.path), err)
		}
		if err := p.write(); err != nil {
			return writing(p.path, err)
		}
	}
	folders := f.folders()
	unlock, err := f.lock(ctx, folders)
	if err != nil {
		return err
	}
	defer unlock()
	for _, p := range f.queue { // what came while this run was at work
		if err := f.checkAgain(p); err != nil {
			return err
		}
	}
	for _, p := range f.queue {
		if err := p.place(); err != nil {
			return writing(p.path, err)
		}
	}
	folders = append(folders, f.madeIn()...)
	f.queue, f.made = nil, nil // all is in its place: nothing to take back
	for _, folder := range folders {
		if err := folder.sync(); err != nil {
			return writing(folder.path, err)
		}
	}
	return nil
}

// takeBack removes the files that were placed where none was before.
func (f *Files) takeBack() {
	for _, p := range slices.Backward(f.queue) {
		if p.placed && p.fresh && !p.remove {
			p.folder.Remove(filepath.Base(p.path))
		}
	}
}

// Abandon removes what lies beside its place, and the folders that were made
// for it, unless it has taken its place. The error that is reported says what
// went wrong before.
func (f *Files) Abandon() {
	for _, p := range append(f.queue, f.begun...) {
		p.discard()
	}
	f.queue, f.begun = nil, nil
	f.release()
}

// folders are those of the queued files, each once and in one order for all
// runs.
func (f *Files) folders() []*Folder {
	var list []*Folder
	for _, p := range f.queue {
		list = append(list, p.folder)
	}
	slices.SortFunc(list, func(a, b *Folder) int { return cmp.Compare(a.path, b.path) })
	return slices.Compact(list)
}

// lock keeps other runs out of the folders, and sweeps away what killed ones
// left there.
func (f *Files) lock(ctx context.Context, folders []*Folder) (unlock func(), err error) {
	var unlocks []func()
	unlock = func() {
		for _, u := range unlocks {
			u()
		}
	}
	for _, folder := range folders {
		u, err := folder.lock(ctx, f.Who, f.Waits)
		if err != nil {
			unlock()
			return nil, err
		}
		unlocks = append(unlocks, u)
		folder.sweep()
	}
	return unlock, nil
}

// cause is the system's reason of an error about a path.
func cause(err error) error {
	var file *os.PathError
	var link *os.LinkError
	switch {
	case errors.As(err, &file):
		return file.Err
	case errors.As(err, &link):
		return link.Err
	}
	return err
}

// writing names the file that was to be written: the system's error names the
// one beside it that is renamed in the end.
func writing(path string, err error) error {
	return fmt.Errorf("writing %s: %w", path, cause(err))
}
