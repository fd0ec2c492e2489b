package cohort

import (
	"context"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"calotte/cmd/internal/disk"
)

// A results is the folder that a study writes into. It may itself be a link;
// what in it leads out of it is refused.
type results struct {
	dir    string
	full   string       // dir, as an absolute path
	folder *disk.Folder // nil: it is not there yet
}

// reach opens the folder by one of the ways to do that.
func (r *results) reach(dir string, open func(string) (*disk.Folder, error)) (err error) {
	r.close()
	r.dir = dir
	if r.full, err = filepath.Abs(dir); err == nil {
		r.folder, err = open(dir)
	}
	return err
}

func (r *results) close() {
	if r.folder != nil {
		r.folder.Close()
	}
	r.folder = nil
}

// name is a path as seen from the results, where it lies in them.
func (r *results) name(path string) (name string, ok bool) {
	return inside(r.full, path)
}

// path is the other way round.
func (r *results) path(name string) string { return filepath.Join(r.dir, filepath.FromSlash(name)) }

// stat describes a file, be it one of the results or of somebody else.
func (r *results) stat(path string) (fs.FileInfo, error) {
	name, ok := r.name(path)
	if !ok {
		return os.Stat(path)
	}
	if r.folder == nil {
		return nil, &fs.PathError{Op: "stat", Path: path, Err: fs.ErrNotExist}
	}
	return r.folder.Stat(name)
}

// open opens a file, likewise.
func (r *results) open(path string) (*os.File, error) {
	name, ok := r.name(path)
	if !ok {
		file, _, err := disk.Open(path)
		return file, err
	}
	if r.folder == nil {
		return nil, &fs.PathError{Op: "open", Path: path, Err: fs.ErrNotExist}
	}
	file, _, err := r.folder.Open(name)
	return file, err
}

// read reads one of the program's own files, of a bounded size.
func (r *results) read(name string, most int64) ([]byte, error) {
	info, err := r.folder.Stat(name)
	switch {
	case err != nil:
		return nil, err
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s is no file", r.path(name))
	case info.Size() > most:
		return nil, fmt.Errorf("%s holds %d bytes: expected at most %d", r.path(name), info.Size(), most)
	}
	return r.folder.ReadFile(name)
}

// put puts files in their places, whole or not at all.
func (r *results) put(ctx context.Context, files ...made) error {
	out := &disk.Files{Force: true, Within: r.dir, Who: "calotte cohort"}
	for _, f := range files {
		if info, err := r.folder.Lstat(f.name); err == nil && info.IsDir() {
			return fmt.Errorf("%s is a folder, where a file is to be written: move it away", r.path(f.name))
		}
		out.Put(r.path(f.name), f.content)
	}
	return out.Write(ctx)
}

// A made is a file to be put into the results.
type made struct {
	name    string
	content []byte
}

// putJSON puts one that holds JSON.
func (r *results) putJSON(ctx context.Context, name string, content any) error {
	text, err := json.MarshalIndent(content, "", "  ")
	if err != nil {
		return err
	}
	return r.put(ctx, made{name, append(text, '\n')})
}
