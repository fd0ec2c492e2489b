package console

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"syscall"

	"github.com/google/renameio/v2/maybe"
)

// Files is the output of one run. Paths are planned and checked before the work
// begins; contents are written at the end, each file beside its place and then
// renamed, in the order in which they were put.
type Files struct {
	Force  bool     // existing files may be replaced
	Inputs []string // paths that must never be written to
	queue  []pending
}

type pending struct {
	path    string
	content []byte
	spool   *Spool // instead of the content
	remove  bool
}

// place writes the file beside its place, unless it lies there already, and renames it.
func (p pending) place() error {
	switch {
	case p.spool != nil:
		return os.Rename(p.spool.Name(), p.path)
	case p.remove:
		if err := os.Remove(p.path); !errors.Is(err, os.ErrNotExist) {
			return err
		}
		return nil
	}
	return maybe.WriteFile(p.path, p.content, 0o666)
}

// Plan refuses paths that exist (without Force), that are inputs, or that lie
// in a folder that cannot be made or written to. It leaves nothing behind.
func (f *Files) Plan(paths ...string) error {
	for _, path := range paths {
		if err := f.check(path); err != nil {
			return err
		}
	}
	for _, path := range paths {
		if err := writableFolder(filepath.Dir(path)); err != nil {
			return err
		}
	}
	return nil
}

func (f *Files) check(path string) error {
	// Lstat also sees a link that leads nowhere, which a new file would replace.
	_, err := os.Lstat(path)
	switch {
	case errors.Is(err, os.ErrNotExist), errors.Is(err, syscall.ENOTDIR): // the folder is looked at next
		return nil
	case err != nil:
		return err
	}
	if info, err := os.Stat(path); err == nil {
		if info.IsDir() {
			return fmt.Errorf("%s is a folder: give the name of a file", path)
		}
		for _, input := range f.Inputs {
			if in, err := os.Stat(input); err == nil && os.SameFile(in, info) {
				return fmt.Errorf("%s is an input and would be overwritten: choose another output", path)
			}
		}
	}
	if !f.Force {
		return fmt.Errorf("%s exists: choose another output or add --force", path)
	}
	return nil
}

// writableFolder tries the folder, or the nearest one above it that exists, so
// that a long job does not end in an error that its beginning could have shown.
func writableFolder(dir string) error {
	for {
		info, err := os.Stat(dir)
		if err == nil && info.IsDir() {
			break
		}
		if err == nil {
			return fmt.Errorf("%s is a file, not a folder: choose another output", dir)
		}
		parent := filepath.Dir(dir)
		if parent == dir {
			return err
		}
		dir = parent
	}
	probe, err := os.CreateTemp(dir, ".calotte-*")
	if err != nil {
		return fmt.Errorf("cannot write into %s: %w", dir, err)
	}
	return errors.Join(probe.Close(), os.Remove(probe.Name()))
}

// Put queues a file. Files that hold hashes of others are put after them.
func (f *Files) Put(path string, content []byte) {
	f.queue = append(f.queue, pending{path: path, content: content})
}

// Drop queues the removal of a file of an earlier run that has none in this one, and
// would be taken for a part of it.
func (f *Files) Drop(path string) { f.queue = append(f.queue, pending{path: path, remove: true}) }

// Write puts the queued files on disk, while no other run writes into their folders: of
// two runs at once the later one finds the files of the earlier and is refused, or with
// Force replaces all of them. On an error it removes the files and folders that it has
// made; a file that took the place of an older one stays.
func (f *Files) Write() (err error) {
	var made []string // in the order of making
	defer func() {
		if err != nil {
			for _, path := range slices.Backward(made) {
				os.Remove(path) // the error that is reported says what went wrong
			}
		}
	}()
	folders, err := f.makeFolders()
	made = append(made, folders...)
	if err != nil {
		return err
	}
	unlock, err := f.lock()
	if err != nil {
		return err
	}
	defer unlock()
	for _, p := range f.queue {
		if f.Force || p.remove {
			continue
		}
		if err := f.check(p.path); err != nil {
			return err
		}
	}
	for _, p := range f.queue {
		_, missing := os.Lstat(p.path)
		if err := p.place(); err != nil {
			return writing(p.path, err)
		}
		if errors.Is(missing, os.ErrNotExist) && !p.remove {
			made = append(made, p.path)
		}
	}
	f.queue = nil
	return nil
}

// folders are those of the queued files, each once and in one order for all runs.
func (f *Files) folders() []string {
	var dirs []string
	for _, p := range f.queue {
		dirs = append(dirs, filepath.Dir(p.path))
	}
	slices.Sort(dirs)
	return slices.Compact(dirs)
}

func (f *Files) makeFolders() (made []string, err error) {
	for _, dir := range f.folders() {
		folders, err := makeFolder(dir)
		made = append(made, folders...)
		if err != nil {
			return made, writing(dir, err)
		}
	}
	return made, nil
}

// lock keeps other runs out of the folders.
func (f *Files) lock() (unlock func(), err error) {
	var unlocks []func()
	unlock = func() {
		for _, u := range unlocks {
			u()
		}
	}
	for _, dir := range f.folders() {
		u, err := lockFolder(dir)
		if err != nil {
			unlock()
			return nil, err
		}
		unlocks = append(unlocks, u)
	}
	return unlock, nil
}

// makeFolder makes a folder and those above it, and returns the ones that it
// made, the outermost first.
func makeFolder(dir string) (made []string, err error) {
	for d := dir; ; d = filepath.Dir(d) {
		if _, err := os.Stat(d); !errors.Is(err, os.ErrNotExist) || d == filepath.Dir(d) {
			break
		}
		made = append(made, d)
	}
	slices.Reverse(made)
	return made, os.MkdirAll(dir, 0o777)
}

// writing names the file that was to be written: the system's error names the
// one beside it that is renamed in the end.
func writing(path string, err error) error {
	cause := err
	var file *os.PathError
	var link *os.LinkError
	switch {
	case errors.As(err, &file):
		cause = file.Err
	case errors.As(err, &link):
		cause = link.Err
	}
	return fmt.Errorf("writing %s: %w", path, cause)
}
