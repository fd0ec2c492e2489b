package disk

import (
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"calotte/cmd/internal/console"
)

// LargestTable is the most that ReadFile takes into memory. A table of 345
// sites with a million samples is larger, but no average is.
const LargestTable = 1 << 30

// ReadFile reads a file whole. It refuses what is no regular file, since a
// device need not end and a pipe need not begin, and what no table or
// description can be as large as.
func ReadFile(path string) ([]byte, error) {
	file, info, err := Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return readAll(path, file, info)
}

func readAll(path string, file io.Reader, info fs.FileInfo) ([]byte, error) {
	if info.Size() > LargestTable {
		return nil, fmt.Errorf("%s holds %.1f GB: expected a table or a description of at most 1 GB", path,
			float64(info.Size())/1e9)
	}
	data := bytes.NewBuffer(make([]byte, 0, info.Size()+bytes.MinRead)) // room to see the end
	if _, err := data.ReadFrom(io.LimitReader(file, LargestTable)); err != nil {
		return nil, fmt.Errorf("reading %s: %w", path, err)
	}
	return data.Bytes(), nil
}

// Open opens a regular file for reading. It looks before it opens: opening a
// pipe may wait for ever.
func Open(path string) (*os.File, fs.FileInfo, error) {
	info, err := os.Stat(path)
	if err == nil {
		err = regular(path, info)
	}
	if err == nil {
		err = ask(Call{Op: Opening, Path: path})
	}
	if err != nil {
		return nil, nil, err
	}
	file, err := os.Open(path)
	return file, info, err
}

// regular refuses what is no regular file.
func regular(path string, info fs.FileInfo) error {
	switch {
	case info.IsDir():
		return fmt.Errorf("%s is a folder: give the files in it", path)
	case !info.Mode().IsRegular():
		return fmt.Errorf("%s is a device or a pipe, no file: save its content to a file and give that", path)
	}
	return nil
}

// ReadDir lists a folder in the order of its names.
func ReadDir(path string) ([]fs.DirEntry, error) {
	if err := ask(Call{Op: Opening, Path: path}); err != nil {
		return nil, err
	}
	return os.ReadDir(path)
}

// FS is a folder of somebody's files to read, of which links may lead anywhere,
// as archives keep their recordings. What is neither a regular file nor a
// folder is refused before it is opened.
func FS(path string) fs.FS { return tree(path) }

type tree string

func (t tree) Open(name string) (fs.File, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrInvalid}
	}
	path := filepath.Join(string(t), filepath.FromSlash(name))
	info, err := os.Stat(path)
	if err == nil && !info.IsDir() {
		err = regular(path, info)
	}
	if err == nil {
		err = ask(Call{Op: Opening, Path: path})
	}
	if err != nil {
		return nil, err
	}
	return os.Open(path)
}

// ReadFile bounds what is read.
func (t tree) ReadFile(name string) ([]byte, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "read", Path: name, Err: fs.ErrInvalid}
	}
	return ReadFile(filepath.Join(string(t), filepath.FromSlash(name)))
}

// Distinct refuses a file that is given twice, be it under two names. Paths
// that lead nowhere are left to who opens them.
func Distinct(paths []string) error {
	infos := make([]fs.FileInfo, len(paths))
	for i, path := range paths {
		info, err := os.Stat(path)
		if err != nil {
			continue
		}
		infos[i] = info
		for j, other := range infos[:i] {
			if other == nil || !os.SameFile(other, info) {
				continue
			}
			if paths[j] == path {
				return console.Usagef("%s is given twice", path)
			}
			return console.Usagef("%s and %s are one file: give it once", paths[j], path)
		}
	}
	return nil
}

// Describe says what a file with these first bytes is, where it is a figure or
// an archive; empty otherwise.
func Describe(start []byte) string {
	for _, kind := range []struct{ mark, name string }{
		{"%PDF", "a PDF"}, {"\x89PNG", "a PNG picture"}, {"\xff\xd8\xff", "a JPEG picture"},
		{"<svg", "an SVG picture"},
		{"<?xml", "an XML file"}, {"PK\x03\x04", "a ZIP archive or an office document"},
		{"\x1f\x8b", "a gzip archive"},
		{"\x93NUMPY", "an array of epochs"},
	} {
		if bytes.HasPrefix(start, []byte(kind.mark)) {
			return kind.name
		}
	}
	return ""
}
