package archive

import (
	"context"
	"os"
	"path/filepath"
	"slices"

	"calotte/cmd/internal/disk"
	"calotte/topo/provenance"
)

// A search looks for files by their names and hashes. It remembers what lies
// where, since whoever wrote the names may have written one many times.
type search struct {
	ctx     context.Context
	shelf   *Shelf // of averages, whose hashes are known
	folders []string
	near    map[string][]string        // all folders to look in, by the one to begin with
	names   map[string]map[string]bool // what lies in a folder, by its path
	sums    map[string]string          // by path
}

func newSearch(ctx context.Context, shelf *Shelf, folders []string) *search {
	return &search{ctx: ctx, shelf: shelf, folders: folders, near: map[string][]string{}, names: map[string]map[string]bool{},
		sums: map[string]string{}}
}

// locate finds a file by its name, first in a folder, then in those of the
// search, and whether its hash is right.
func (s *search) locate(first string, source provenance.Source) (path string, same bool, err error) {
	if filepath.Base(source.Name) != source.Name {
		return "", false, nil // no name that this program records
	}
	if s.near[first] == nil {
		s.near[first] = slices.Collect(WithPeople(append([]string{first}, s.folders...)))
	}
	for _, dir := range s.near[first] {
		if !s.holds(dir, source.Name) {
			continue
		}
		candidate := filepath.Join(dir, source.Name)
		info, err := os.Stat(candidate)
		if err != nil || !info.Mode().IsRegular() {
			continue
		}
		sum, err := s.hash(candidate)
		if err != nil {
			return "", false, err
		}
		if sum != "" && sum == source.SHA256 {
			return candidate, true, nil
		}
		if path == "" {
			path = candidate
		}
	}
	return path, false, nil
}

// holds reports whether a folder has a file of some name.
func (s *search) holds(dir, name string) bool {
	names, known := s.names[dir]
	if !known {
		names = map[string]bool{}
		entries, _ := disk.ReadDir(dir) // what cannot be read holds nothing to find
		for _, e := range entries {
			names[e.Name()] = true
		}
		s.names[dir] = names
	}
	return names[name]
}

func (s *search) hash(path string) (sum string, err error) {
	sum, known := s.sums[path]
	if known {
		return sum, nil
	}
	if sum, known = s.shelf.hash(path); !known {
		if sum, err = hashFile(s.ctx, path); err != nil {
			return "", err
		}
	}
	s.sums[path] = sum
	return sum, nil
}
