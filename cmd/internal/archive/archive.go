// Package archive keeps averages on disk: it gives the files of [store] their
// folders, finds the people behind a grand average, and follows a file to what
// it was made from.
//
// # Decisions
//
// A run owns the files of its stem: it replaces them all, and removes those
// that an earlier run left and this one does not write, such as epochs. One
// rule says what may begin a file's name (CheckStem). Names of conditions are
// letters and digits, since a hyphen means "minus" in file names.
//
// Every table has its JSON beside it, with the table's hash, and must be the
// table that the JSON describes. A changed copy under another name is read on
// its own, without standard errors.
//
// What a run has read it may share among its tasks (Shelf), which ask for one
// person's averages again and again. The session carries the shelf; without one
// each reads for itself.
package archive

import (
	"context"
	"io/fs"
	"os"
	"path/filepath"

	"calotte/cmd/internal/disk"
	"calotte/topo/erp/average"
	"calotte/topo/erp/store"
	"calotte/topo/provenance"
)

// Paths are the files that Save may write for a stem.
func Paths(dir, stem string) []string {
	var paths []string
	for _, name := range store.Names(stem) {
		paths = append(paths, filepath.Join(dir, name))
	}
	return paths
}

// Save queues the files of an average and returns the path of its table. Name
// and condition become part of the files' names and must be fit for it. The
// JSON lists the files of its epochs, too, that a [Keeper] has queued.
func Save(files *disk.Files, dir string, a *average.Average, kept ...provenance.Source) (string, error) {
	if err := CheckStem(Stem(a.Info.Name, a.Info.Slug())); err != nil {
		return "", err
	}
	table, err := store.Save(sink{files, dir}, a, kept...)
	return filepath.Join(dir, table), err
}

// A sink queues files that are to lie in a folder.
type sink struct {
	files *disk.Files
	dir   string
}

func (s sink) Put(name string, content []byte) { s.files.Put(filepath.Join(s.dir, name), content) }
func (s sink) Drop(name string)                { s.files.Drop(filepath.Join(s.dir, name)) }

// A folder is the files beside one that was given by its path, with that as it
// was written before their names. It remembers what was read.
type folder struct {
	dir  string // with the separator
	read []string
}

// beside splits a path into the folder of its file and the name there.
func beside(path string) (f *folder, name string) {
	dir, name := filepath.Split(path)
	return &folder{dir: dir}, name
}

func (f *folder) Open(name string) (fs.File, error) {
	file, _, err := disk.Open(f.dir + name)
	if err != nil {
		return nil, err
	}
	f.read = append(f.read, f.dir+name)
	return file, nil
}

func (f *folder) ReadFile(name string) ([]byte, error) {
	data, err := disk.ReadFile(f.dir + name)
	if err == nil {
		f.read = append(f.read, f.dir+name)
	}
	return data, err
}

func (f *folder) SHA256(name string) (string, error) {
	sum, err := hashFile(context.Background(), f.dir+name)
	if err == nil {
		f.read = append(f.read, f.dir+name)
	}
	return sum, err
}

func (f *folder) Stat(name string) (fs.FileInfo, error) { return os.Stat(f.dir + name) }

// located gives the files that an error names their folder.
func (f *folder) located(err error) error {
	e, ok := err.(*store.Error)
	if !ok {
		return err
	}
	return &store.Error{Name: f.dir + e.Name, Problem: e.Problem, Err: f.located(e.Err)}
}

// Hash is the SHA-256 of data in hexadecimal.
func Hash(data []byte) string { return provenance.SourceOf("", data).SHA256 }
