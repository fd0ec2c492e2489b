package places

import (
	"io/fs"
	"os"
	"path/filepath"

	"calotte/cmd/internal/disk"
)

// Folder is one of somebody's files to read, of which they open only their own.
// Others are listed, so that what would have a part in the work is refused by
// its name.
func (p *Set) Folder(path string) fs.FS {
	if p == nil {
		return disk.FS(path)
	}
	return placedFolder{disk.FS(path), path, p}
}

type placedFolder struct {
	fs.FS
	dir    string
	places *Set
}

func (d placedFolder) Open(name string) (fs.File, error) {
	path := filepath.Join(d.dir, filepath.FromSlash(name))
	if info, err := os.Stat(path); err == nil && !info.IsDir() {
		if err := d.places.Within(path); err != nil {
			return nil, err
		}
	}
	return d.FS.Open(name)
}
