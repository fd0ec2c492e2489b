package disk

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
)

// A Folder is an open folder. Names are as seen from it, with slashes; nothing
// outside of it can be reached, be it by dots or by links.
type Folder struct {
	root *os.Root
	path string
}

// OpenFolder opens a folder, which may itself be a link.
func OpenFolder(path string) (*Folder, error) {
	if err := ask(Call{Op: Opening, Path: path}); err != nil {
		return nil, err
	}
	root, err := os.OpenRoot(path)
	if err != nil {
		return nil, err
	}
	return &Folder{root, path}, nil
}

// MakeFolder opens a folder, which it makes, with those above it, where it is
// missing.
func MakeFolder(path string) (*Folder, error) {
	f, err := OpenFolder(path)
	if !errors.Is(err, fs.ErrNotExist) {
		return f, err
	}
	if err := ask(Call{Op: Folding, Path: path}); err != nil {
		return nil, err
	}
	if err := os.MkdirAll(path, 0o777); err != nil {
		return nil, err
	}
	return OpenFolder(path)
}

// Make makes a folder below this one, where nothing may be yet.
func (f *Folder) Make(name string) error { return f.mkdir(name) }

// Sub opens a folder below this one.
func (f *Folder) Sub(name string) (*Folder, error) {
	if err := ask(Call{Op: Opening, Path: f.Path(name)}); err != nil {
		return nil, err
	}
	root, err := f.root.OpenRoot(filepath.FromSlash(name))
	if err != nil {
		return nil, f.named(name, err)
	}
	return &Folder{root, f.Path(name)}, nil
}

// Close lets go of the folder.
func (f *Folder) Close() error { return f.root.Close() }

// Path is where something in the folder lies, for messages.
func (f *Folder) Path(name string) string {
	return filepath.Join(f.path, filepath.FromSlash(name))
}

// ErrOutside is the cause of an error about a link that leads out of a folder.
var ErrOutside = errors.New("leads out of")

// named gives an error the path that the user knows, and says what to do about
// a link that leads out.
func (f *Folder) named(name string, err error) error {
	cause := err
	if file := new(fs.PathError); errors.As(err, &file) {
		cause = file.Err
	}
	if link := new(os.LinkError); errors.As(err, &link) {
		cause = link.Err
	}
	if escapes(cause) {
		way := ""
		link := f.link(name)
		if link != name {
			way = ", on the way to " + f.Path(name)
		}
		return fmt.Errorf("%s %w %s%s: put a folder or a file in place of the link", f.Path(link), ErrOutside,
			f.path,
			way)
	}
	if file := f.file(name); file != "" && errors.Is(cause, syscall.ENOTDIR) {
		return fmt.Errorf("%s is a file, on the way to %s: move it away, and put a folder in its place",
			f.Path(file),
			f.Path(name))
	}
	return &fs.PathError{Op: "reaching", Path: f.Path(name), Err: cause}
}

// escapes reports whether something was not reached since it lies outside.
func escapes(err error) bool { return strings.Contains(err.Error(), "escapes from parent") }

// link is the first name on the way to another that leads out of the folder.
func (f *Folder) link(name string) string {
	for i, r := range filepath.ToSlash(name) {
		if r != '/' || i == 0 {
			continue
		}
		if _, err := f.root.Stat(filepath.FromSlash(name[:i])); err != nil && escapes(err) {
			return name[:i]
		}
	}
	return name
}

// file is the first name on the way to another that is a file; empty: there is
// none.
func (f *Folder) file(name string) string {
	for i, r := range filepath.ToSlash(name) {
		if r != '/' || i == 0 {
			continue
		}
		if info, err := f.root.Stat(filepath.FromSlash(name[:i])); err == nil && !info.IsDir() {
			return name[:i]
		}
	}
	return ""
}

// Stat describes what a name leads to.
func (f *Folder) Stat(name string) (fs.FileInfo, error) {
	info, err := f.root.Stat(filepath.FromSlash(name))
	if err != nil {
		return nil, f.named(name, err)
	}
	return info, nil
}

// Lstat describes what a name is, be it a link.
func (f *Folder) Lstat(name string) (fs.FileInfo, error) {
	info, err := f.root.Lstat(filepath.FromSlash(name))
	if err != nil {
		return nil, f.named(name, err)
	}
	return info, nil
}

// Open opens a regular file for reading, as the function Open does.
func (f *Folder) Open(name string) (*os.File, fs.FileInfo, error) {
	info, err := f.Stat(name)
	if err == nil {
		err = regular(f.Path(name), info)
	}
	if err == nil {
		err = ask(Call{Op: Opening, Path: f.Path(name)})
	}
	if err != nil {
		return nil, nil, err
	}
	file, err := f.root.Open(filepath.FromSlash(name))
	if err != nil {
		return nil, nil, f.named(name, err)
	}
	return file, info, nil
}

// ReadFile reads a regular file whole, as the function ReadFile does.
func (f *Folder) ReadFile(name string) ([]byte, error) {
	file, info, err := f.Open(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return readAll(f.Path(name), file, info)
}

// ReadDir lists a folder in the order of its names; "." is the folder itself.
func (f *Folder) ReadDir(name string) ([]fs.DirEntry, error) {
	if err := ask(Call{Op: Opening, Path: f.Path(name)}); err != nil {
		return nil, err
	}
	entries, err := fs.ReadDir(f.root.FS(), filepath.ToSlash(filepath.Clean(name)))
	if err != nil {
		return nil, f.named(name, err)
	}
	return entries, nil
}

// Remove removes a file, a link, or an empty folder.
func (f *Folder) Remove(name string) error {
	if err := ask(Call{Op: Removing, Path: f.Path(name)}); err != nil {
		return err
	}
	if err := f.root.Remove(filepath.FromSlash(name)); err != nil {
		return f.named(name, err)
	}
	return nil
}

// removeAll removes a folder of this program's own with the files in it. One
// that holds a folder is none, and stays as it is.
func (f *Folder) removeAll(name string) error {
	entries, err := f.ReadDir(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	if slices.ContainsFunc(entries, fs.DirEntry.IsDir) {
		return fmt.Errorf("%s holds a folder, and was not made by this program", f.Path(name))
	}
	for _, e := range entries {
		if err := f.Remove(filepath.Join(name, e.Name())); err != nil {
			return err
		}
	}
	return f.Remove(name)
}

// rename gives a file or folder another name in the folder.
func (f *Folder) rename(from, to string) error {
	if err := ask(Call{Op: Renaming, Path: f.Path(from), To: f.Path(to)}); err != nil {
		return err
	}
	if err := f.root.Rename(from, to); err != nil {
		return f.named(to, err)
	}
	return nil
}

// mkdir makes a folder.
func (f *Folder) mkdir(name string) error {
	if err := ask(Call{Op: Folding, Path: f.Path(name)}); err != nil {
		return err
	}
	if err := f.root.Mkdir(filepath.FromSlash(name), 0o777); err != nil {
		return f.named(name, err)
	}
	return nil
}

// make makes a new file. Others may read it as far as the user's own settings
// let them.
func (f *Folder) make(name string) (*file, error) {
	if err := ask(Call{Op: Making, Path: f.Path(name)}); err != nil {
		return nil, err
	}
	made, err := f.root.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return nil, f.named(name, err)
	}
	return &file{made, f.Path(name)}, nil
}

// sync makes the names in the folder last. Systems that cannot do that for a
// folder say so in ways of their own; there is nothing to be done about it.
func (f *Folder) sync() error {
	if err := ask(Call{Op: Syncing, Path: f.path}); err != nil {
		return err
	}
	return syncFolder(f.root)
}

// A file is one that is being written, whose requests can be observed.
type file struct {
	*os.File
	path string
}

func (f *file) Write(b []byte) (int, error) {
	if observer.Load() != nil {
		at, err := f.Seek(0, io.SeekCurrent)
		if err != nil {
			return 0, err
		}
		if err := ask(Call{Op: Writing, Path: f.path, Data: b, Offset: at}); err != nil {
			return 0, err
		}
	}
	return f.File.Write(b)
}

func (f *file) Sync() error {
	if err := ask(Call{Op: Syncing, Path: f.path}); err != nil {
		return err
	}
	return f.File.Sync()
}

// ReadFrom keeps copies from going around Write.
func (f *file) ReadFrom(r io.Reader) (int64, error) {
	return io.Copy(struct{ io.Writer }{f}, r)
}
