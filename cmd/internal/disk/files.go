package disk

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
)

// Files is the output of one run. Paths are planned and checked before the work
// begins. At the end all contents are written beside their places, and only when that
// is done are they renamed, in the order in which they were put: the time in which a
// kill leaves some files of the old run and some of the new is that of a few renames.
type Files struct {
	Force  bool     // existing files may be replaced
	Inputs []string // paths that must never be written to
	queue  []*pending
}

// A pending file is to take its place, or to leave it.
type pending struct {
	path    string
	content []byte
	beside  string // where it lies whole; empty: not written yet
	remove  bool
}

// write writes the file beside its place, unless it lies there already.
func (p *pending) write() error {
	if p.remove || p.beside != "" {
		return nil
	}
	file, err := beside(p.path)
	if err != nil {
		return err
	}
	p.beside = file.Name()
	_, err = file.Write(p.content)
	if err == nil {
		err = file.Sync()
	}
	return errors.Join(err, file.Close())
}

// place puts the file in its place, or removes what lies there.
func (p *pending) place() error {
	if !p.remove {
		return os.Rename(p.beside, p.path)
	}
	if err := os.Remove(p.path); !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return nil
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
	f.queue = append(f.queue, &pending{path: path, content: content})
}

// Drop queues the removal of a file of an earlier run that has none in this one, and
// would be taken for a part of it.
func (f *Files) Drop(path string) { f.queue = append(f.queue, &pending{path: path, remove: true}) }

// Write puts the queued files on disk, while no other run puts any into their folders:
// of two runs at once the later one finds the files of the earlier and is refused, or with
// Force replaces all of them. On an error it removes what it has written beside the
// places, and the files and folders that it has made; a file that took the place of an
// older one stays.
func (f *Files) Write() (err error) {
	var made []string // in the order of making
	defer func() {
		if err != nil {
			f.discard(made)
		}
	}()
	folders, err := f.makeFolders()
	made = append(made, folders...)
	if err != nil {
		return err
	}
	for _, p := range f.queue {
		if err := p.write(); err != nil {
			return writing(p.path, err)
		}
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

// discard removes what lies beside its place, and what was made, in the order of making.
// The error that is reported says what went wrong before.
func (f *Files) discard(made []string) {
	for _, p := range f.queue {
		if p.beside != "" {
			os.Remove(p.beside) // gone already where it took its place
		}
	}
	for _, path := range slices.Backward(made) {
		os.Remove(path)
	}
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

// beside makes a new file in the folder of a path, or in the nearest one above it that
// exists. Others may read it as far as the user's own settings let them, unlike one of
// os.CreateTemp.
func beside(path string) (*os.File, error) {
	dir := filepath.Dir(path)
	for {
		if _, err := os.Stat(dir); !errors.Is(err, os.ErrNotExist) || dir == filepath.Dir(dir) {
			break
		}
		dir = filepath.Dir(dir)
	}
	for {
		file, err := os.OpenFile(filepath.Join(dir, fmt.Sprintf("%s%08x", leftover, rand.Uint32())), os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
		if !errors.Is(err, os.ErrExist) {
			return file, err
		}
	}
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

// leftover begins the names of files that are being written, before they take their places.
const leftover = ".calotte-"

// ClearLeftovers removes what killed runs left half written in a folder and those in it.
func ClearLeftovers(dir string) error {
	return filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasPrefix(d.Name(), leftover) {
			return err
		}
		return os.Remove(path)
	})
}
