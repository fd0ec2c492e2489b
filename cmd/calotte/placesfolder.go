package main

import (
	"io/fs"
	"os"
	"path/filepath"

	"calotte/cmd/internal/disk"
)

// folder is one of somebody's files to read, of which they open only their own. Others are
// listed, so that what would have a part in the work is refused by its name.
func (p *places) folder(path string) fs.FS {
	if p == nil {
		return disk.FS(path)
	}
	return placedFolder{disk.FS(path), path, p}
}

type placedFolder struct {
	fs.FS
	dir    string
	places *places
}

func (d placedFolder) Open(name string) (fs.File, error) {
	path := filepath.Join(d.dir, filepath.FromSlash(name))
	if info, err := os.Stat(path); err == nil && !info.IsDir() {
		if err := d.places.within(path); err != nil {
			return nil, err
		}
	}
	return d.FS.Open(name)
}
