package disk

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
)

// Names of a folder that is being made, and of the one whose place it takes:
// behind each comes the same number and the name of the place. Where the second
// exists, the first is whole.
const (
	comingMark = leftover + "new-"
	asideMark  = leftover + "old-"
)

// A FolderSpool is a folder of files that takes its place whole: it is written
// beside its place, and an earlier one steps aside for it.
type FolderSpool struct {
	parent *Folder
	folder *Folder
	mark   string // the number and the name
	ours   func(name string) bool
	alive  func()
	placed bool // an earlier folder may still lie aside
}

// SpoolFolder begins a folder that is to lie at path in the end. Of an earlier
// one there ours says which of its files it may hold: with any other it is
// refused, so that nobody's files move away. Without Force there may be none
// but an empty one.
func (f *Files) SpoolFolder(path string, ours func(name string) bool) (*FolderSpool, error) {
	if err := f.PlanFolder(path, ours); err != nil {
		return nil, err
	}
	path, err := placeOf(path)
	if err != nil {
		return nil, err
	}
	parent, err := f.reach(f.Within, filepath.Dir(path))
	if err != nil {
		return nil, writing(filepath.Dir(path), err)
	}
	s := &FolderSpool{parent: parent, ours: ours}
	f.queue = append(f.queue, &pending{path: path, folder: parent, set: s})
	for {
		alive, err := s.begin(filepath.Base(path))
		if err != nil {
			return nil, writing(path, err)
		}
		if alive {
			return s, nil
		}
		s.close() // it was swept away before it was locked
	}
}

// begin makes the folder beside its place.
func (s *FolderSpool) begin(name string) (alive bool, err error) {
	s.mark = fmt.Sprintf("%08x-%s", rand.Uint32(), name)
	if err := s.parent.mkdir(comingMark + s.mark); err != nil {
		return false, err
	}
	s.folder, err = s.parent.Sub(comingMark + s.mark)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	s.alive, alive = s.folder.keepAlive()
	return alive, nil
}

// PlanFolder refuses what SpoolFolder would.
func (f *Files) PlanFolder(path string, ours func(name string) bool) error {
	path, err := placeOf(path)
	if err != nil {
		return err
	}
	if err := writableFolder(filepath.Dir(path)); err != nil {
		return err
	}
	return f.checkFolder(path, ours)
}

// checkFolder refuses a folder that holds what is not to be replaced.
func (f *Files) checkFolder(path string, ours func(name string) bool) error {
	folder, err := OpenFolder(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("%s: %w: expected a folder, or nothing there", path, cause(err))
	}
	defer folder.Close()
	entries, err := folder.ReadDir(".")
	if err != nil {
		return err
	}
	for _, e := range entries {
		if !e.Type().IsRegular() || !ours(e.Name()) {
			return fmt.Errorf("%s holds %s, which is no part of an earlier set: choose another folder, or "+
				"move that away", path, e.Name())
		}
		if info, err := e.Info(); err == nil && f.isInput(info) {
			return fmt.Errorf("%s is an input and would be removed: choose another folder",
				folder.Path(e.Name()))
		}
	}
	if len(entries) > 0 && !f.Force {
		return fmt.Errorf("%s holds an earlier set of %d files: choose another folder, or --force to "+
			"replace them all",
			path, len(entries))
	}
	return nil
}

// placeOf refuses what cannot be exchanged as a whole: a link, the folder that
// the user is in, the root of all.
func placeOf(path string) (string, error) {
	path = filepath.Clean(path)
	info, err := os.Lstat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return path, nil
	}
	if err != nil {
		return "", err
	}
	if info.Mode()&fs.ModeSymlink != 0 {
		return "", fmt.Errorf("%s is a link: give the folder that it leads to", path)
	}
	if here, err := os.Stat("."); err != nil || os.SameFile(here, info) || filepath.Dir(path) == path {
		return "", fmt.Errorf("%s: expected a folder of its own, since it is replaced as a whole", path)
	}
	return path, nil
}

// Put writes a file into the folder. It may be called from several goroutines.
func (s *FolderSpool) Put(name string, content []byte) error {
	made, err := s.folder.make(name)
	if err != nil {
		return err
	}
	if _, err = made.Write(content); err == nil {
		err = made.Sync()
	}
	return errors.Join(err, made.Close())
}

// place exchanges the folders. What kills the program between the two renames
// leaves both, and whoever sweeps next brings them to the end.
func (s *FolderSpool) place(name string) error {
	if err := s.folder.sync(); err != nil {
		return err
	}
	_, err := s.parent.Lstat(name)
	missing := errors.Is(err, fs.ErrNotExist)
	if err != nil && !missing {
		return err
	}
	s.close() // some systems do not rename open folders
	if missing {
		return s.parent.rename(comingMark+s.mark, name)
	}
	if err := s.parent.rename(name, asideMark+s.mark); err != nil {
		return err
	}
	if err := s.parent.rename(comingMark+s.mark, name); err != nil {
		return errors.Join(err, s.parent.rename(asideMark+s.mark, name))
	}
	s.placed = true
	if err := s.parent.sync(); err != nil {
		return err
	}
	return s.parent.removeAll(asideMark + s.mark)
}

func (s *FolderSpool) close() {
	if s.folder != nil {
		s.alive()
		s.folder.Close()
		s.folder = nil
	}
}

// discard removes the folder, or the earlier one where this one has taken its
// place.
func (s *FolderSpool) discard() {
	s.close()
	if s.placed {
		s.parent.removeAll(asideMark + s.mark)
		return
	}
	s.parent.removeAll(comingMark + s.mark)
}
